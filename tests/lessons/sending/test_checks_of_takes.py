"""From sound to sentence: recordings built with known faults, heard by the worker, read by the checks."""

from __future__ import annotations

import json
import uuid

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from lessons.sending import actions
from lessons.sending.forms import DraftForms
from reeds.checks.findings import Outcome
from reeds.sheet.starters import LONG_SCRAPE
from tests import factories as make
from tests import simulate_sound as sim

A4 = 442.0
OFF = json.dumps(dict.fromkeys(("autoGainControl", "noiseSuppression", "echoCancellation"), False))
LOW = ("D4", "C4", "B3", "Bb3")


def blown(names, *, spoke=None, breath_before=0.03, cents=0.0, level=0.2):
    """One note a second and a half; `spoke` says which of them do."""
    speaks = spoke or [True] * len(names)
    hz = [sim.hertz(name, A4) * 2 ** (cents / 1200) for name in names]
    return [
        sim.Blow(one, 0.6 + 1.5 * place, 1.0, level, breath_before=breath_before, breath_only=not speak)
        for place, (one, speak) in enumerate(zip(hz, speaks, strict=True))
    ]


def file_of(blows, **room):
    sung = sim.record(blows, blows[-1].start + 1.6, sim.Room(**room), np.random.default_rng(7))
    return sim.wav(sung).getvalue()


@pytest.fixture
def reed(student):
    return make.ReedFactory(owner=student, stage="playing", number=7)


@pytest.fixture
def good(student):
    return make.ReedFactory(owner=student, stage="playing", number=3, is_reference=True)


@pytest.fixture
def send(as_member, student, django_capture_on_commit_callbacks):
    """Return a function that sends a recording with the draft of a reed and lets the worker listen."""

    def send(reed, item, data, of="", granted=OFF):
        draft = actions.draft_of(reed, student)
        given = {"key": str(draft.key), "take-key": str(uuid.uuid4()), "item": item, "of": of}
        given |= {"granted": granted, "take": SimpleUploadedFile("a.wav", data, "audio/wav")}
        address = student.to("lessons:take", reed.pk)
        with django_capture_on_commit_callbacks(execute=True):
            assert as_member(student).post(address, given, headers={"hx-request": "true"}).status_code == 200

    return send


def found(reed, student, **of):
    """What the sending page's checks say, narrowed to the findings of this check, quantity or item."""
    draft = actions.draft_of(reed, student)
    rows = DraftForms(draft).findings
    return [one for one in rows if all(getattr(one, name) == value for name, value in of.items())]


def said_on_page(as_member, student, reed):
    return as_member(student).get(student.to("lessons:draft", reed.pk)).content.decode()


def test_a_tuning_note_outside_the_limits_asks_for_the_reference_before_any_clipping(
    send, reed, student, as_member
):
    send(reed, "tuning", file_of(blown(["A4"], cents=25)))
    (one,) = found(reed, student, quantity="a4_cents", check="limits")
    assert one.outcome is Outcome.ABOVE
    assert one.value == pytest.approx(25, abs=2)
    assert "reference reed" in one.next_step
    assert "Do not clip" in one.caution
    assert one.next_step in said_on_page(as_member, student, reed)


def test_a_tuning_note_within_them_is_within(send, reed, student):
    send(reed, "tuning", file_of(blown(["A4"], cents=3)))
    (one,) = found(reed, student, quantity="a4_cents", check="limits")
    assert one.outcome is Outcome.WITHIN


def test_silent_low_notes_ask_for_the_reference_and_never_name_the_knife(send, reed, student, as_member):
    type(student).objects.filter(pk=student.pk).update(may_act=True)
    reed.owner.may_act = True
    send(reed, "low_notes", file_of(blown(LOW, spoke=[True, True, False, False])))
    (one,) = found(reed, student, check="recorded", choice="low_notes")
    assert (one.outcome, one.params["spoke"], one.params["asked"]) == (Outcome.BELOW, 2, 4)
    assert one.next_step.startswith("Does your reference reed speak them?")
    assert not one.irreversible
    assert "Does your reference reed speak them?" in said_on_page(as_member, student, reed)


def test_low_notes_that_the_reference_speaks_belong_to_the_reed(send, reed, good, student):
    send(reed, "low_notes", file_of(blown(LOW, spoke=[True, True, False, False])))
    send(reed, "low_notes", file_of(blown(LOW)), of="reference")
    (one,) = [row for row in found(reed, student, check="recorded") if "spoke" in row.params]
    assert one.outcome is Outcome.BELOW
    assert "both sides close together" in one.next_step


def test_low_notes_silent_on_both_point_at_a_pad(send, reed, good, student):
    send(reed, "low_notes", file_of(blown(LOW, spoke=[True, True, True, False])))
    send(reed, "low_notes", file_of(blown(LOW, spoke=[True, True, True, False])), of="reference")
    (one,) = [row for row in found(reed, student, check="recorded") if "spoke" in row.params]
    assert one.outcome is Outcome.NOTED
    assert "a pad of the oboe may leak" in one.next_step


def test_a_slow_response_alone_asks_for_the_reference(send, reed, student):
    send(reed, "third_octave", file_of(blown(["C6", "D6"], breath_before=0.4)))
    slow = [row for row in found(reed, student, check="recorded") if row.high == 150.0]
    assert [row.outcome for row in slow] == [Outcome.NOTED]
    assert "Does your reference reed answer sooner?" in slow[0].next_step


def test_a_slower_response_than_the_references_is_above(send, reed, good, student):
    send(reed, "third_octave", file_of(blown(["C6", "D6"], breath_before=0.4)))
    send(reed, "third_octave", file_of(blown(["C6", "D6"])), of="reference")
    (one,) = [row for row in found(reed, student, check="recorded") if row.outcome is Outcome.ABOVE]
    assert "later than your reference reed" in one.message
    assert one.next_step
    assert one.waits  # this student waits for the teacher before scraping


def test_a_phone_that_may_have_changed_the_sound_is_not_asked_about_the_response(send, reed, student):
    send(reed, "third_octave", file_of(blown(["C6", "D6"], breath_before=0.4)), granted="")
    assert not [row for row in found(reed, student, check="recorded") if row.high == 150.0]


def crow(cents, wide=8):
    """Two voices so many cents off C5 and C6, the upper one a little wide of the octave."""
    voices = (("C5", cents), ("C6", cents + wide))
    return file_of([sim.Blow(sim.hertz(name, A4) * 2 ** (off / 1200), 0.6, 1.5, 0.2) for name, off in voices])


def test_a_crow_that_is_off_is_told_where_the_sheet_lists_its_pitches(send, student):
    version = make.VersionFactory(
        pattern__studio=student.studio, pattern__style="long", data=LONG_SCRAPE.to_json()
    )
    reed = make.ReedFactory(owner=student, version=version, stage="playing", staple_length=47.0)
    send(reed, "crow", crow(-90))
    (one,) = found(reed, student, quantity="crow")
    assert (one.outcome, one.choice) == (Outcome.DIFFERS, "flat")
    assert one.waits
    assert "Wait for your teacher" in one.next_step


def test_a_crow_in_octaves_of_c_is_as_the_sheet_has_it(send, student):
    version = make.VersionFactory(
        pattern__studio=student.studio, pattern__style="long", data=LONG_SCRAPE.to_json()
    )
    reed = make.ReedFactory(owner=student, version=version, stage="playing", staple_length=47.0)
    send(reed, "crow", crow(5))
    (one,) = found(reed, student, quantity="crow")
    assert (one.outcome, one.choice) == (Outcome.WITHIN, "octaves")


def test_a_short_scrape_is_told_nothing_of_its_crow(send, reed, student):
    send(reed, "crow", crow(-90))
    assert found(reed, student, quantity="crow") == []


def test_a_recording_in_noise_says_only_that(send, reed, student):
    send(reed, "low_notes", file_of(blown(LOW), pink_snr_db=0.0))
    (one,) = found(reed, student, check="recorded")
    assert "too noisy to tell" in one.message
    assert "quieter room" in one.next_step
