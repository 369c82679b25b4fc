"""Recordings: kept once, heard by the worker, turned into what the checks read."""

from __future__ import annotations

import datetime as dt
import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone

from reeds.checks import recorded as recorded_checks
from reeds.checks.facts import ReedFacts, Told
from reeds.checks.findings import Finding, Outcome
from reeds.checks.registry import run_checks
from reeds.numbers.measured import Measured
from reeds.numbers.words import Stage, Style
from reeds.reed import actions as bench
from reeds.sheet.playing_items import USUAL, PlayingItem, PlayingItemError, from_json, to_json
from reeds.sheet.starters import SHORT_SCRAPE
from reeds.take import actions as takes
from reeds.take import tasks, told
from reeds.take.models import Take, TakeState
from reeds.take.processing import OFF, Processing
from reeds.take.tasks import listen
from studio.errors import NotPossible
from tests import factories as make

QUIET = OFF.to_json()
TUNING = PlayingItem("tuning", ("A4",))


def upload(data: bytes, content_type: str = "audio/wav") -> SimpleUploadedFile:
    return SimpleUploadedFile("anything.wav", data, content_type)


@pytest.fixture
def reed(student):
    return make.ReedFactory(owner=student, stage="playing")


@pytest.fixture
def kept(reed, django_capture_on_commit_callbacks):
    """Return a function that keeps a recording and lets the worker listen."""

    def keep(data: bytes, item: PlayingItem = TUNING, key: uuid.UUID | None = None, **given: object) -> Take:
        with django_capture_on_commit_callbacks(execute=True):
            take = takes.add_take(reed, reed.owner, upload(data), key or uuid.uuid4(), item, OFF, **given)
        take.refresh_from_db()
        return take

    return keep


def test_the_worker_hears_a_tuning_note_against_the_studios_a(kept, reed):
    take = kept(make.tone(442 * 2 ** (7 / 1200)))
    assert take.state == TakeState.READY
    assert take.result["item"]["cents"] == pytest.approx(7, abs=1)
    assert 0 < len(take.tracks["hz"]) <= 600
    (reading,) = told.readings_of(take)
    assert reading.quantity == "a4_cents"
    assert reading.measured.value == pytest.approx(7, abs=1)


def test_the_same_key_keeps_one(kept, reed):
    key = uuid.uuid4()
    assert kept(make.tone(442), key=key) == kept(make.tone(442), key=key)
    assert Take.objects.count() == 1


def test_listening_twice_changes_nothing(kept):
    take = kept(make.tone(442))
    Take.objects.filter(pk=take.pk).update(result={"kept": True})
    listen.call(take.pk)
    take.refresh_from_db()
    assert take.result == {"kept": True}


def test_what_is_no_recording_is_refused_with_a_sentence(kept):
    take = kept(b"not a sound at all" * 50)
    assert take.state == TakeState.REFUSED
    assert take.refusal


def test_a_file_gone_from_disk_is_said(kept, reed):
    take = kept(make.tone(442))
    Take.objects.filter(pk=take.pk).update(state=TakeState.WAITING, raw="takes/nowhere.wav")
    listen.call(take.pk)
    take.refresh_from_db()
    assert "is gone" in take.refusal


def test_taking_back_deletes_the_file(kept, django_capture_on_commit_callbacks):
    take = kept(make.tone(442))
    name = take.file.name
    with django_capture_on_commit_callbacks(execute=True):
        takes.withdraw(take)
    assert not take.file.storage.exists(name)
    assert not Take.objects.kept().exists()


def test_one_erased_while_it_is_listened_to_leaves_no_file(reed, monkeypatch, settings):
    monkeypatch.setattr(takes, "listen", type("Idle", (), {"enqueue": lambda pk: None}))
    take = takes.add_take(reed, reed.owner, upload(make.tone(442)), uuid.uuid4(), TUNING, OFF)
    heard = tasks._heard

    def slow(row):
        columns = heard(row)
        takes.erase_takes(Take.objects.all(), timezone.now())
        return columns

    monkeypatch.setattr(tasks, "_heard", slow)
    listen.call(take.pk)
    assert not [path for path in settings.MEDIA_ROOT.rglob("*") if path.is_file()]
    assert not Take.objects.kept().exists()


@pytest.mark.parametrize(("data", "sentence"), [(b"", "empty"), (b"x" * (takes.MAX_BYTES + 1), "25 MB")])
def test_empty_and_huge_files_are_not_kept(reed, data, sentence):
    with pytest.raises(NotPossible, match=sentence):
        takes.add_take(reed, reed.owner, upload(data), uuid.uuid4(), TUNING, OFF)
    assert not Take.objects.exists()


def test_under_age_nothing_is_recorded_without_consent(reed):
    reed.owner.under_age = True
    with pytest.raises(NotPossible, match="consent"):
        takes.add_take(reed, reed.owner, upload(make.tone(442)), uuid.uuid4(), TUNING, OFF)


def test_one_reed_is_the_reference(reed, student):
    other, reed.stage = make.ReedFactory(owner=student, stage="playing"), "finishing"
    bench.name_reference(reed)
    bench.name_reference(other)
    reed.refresh_from_db()
    other.refresh_from_db()
    assert (reed.is_reference, other.is_reference) == (False, True)


def test_the_references_takes_of_the_same_sitting_stand_beside(kept, reed, student):
    take = kept(make.tone(442))
    reference = make.ReedFactory(owner=student, is_reference=True)
    near = {"state": TakeState.READY, "item": "tuning", "studio": reed.studio, "reed": reference}
    Take.objects.create(**near, at=take.at - dt.timedelta(days=2))
    assert (told.heard_of(reed, None).own.keys(), told.heard_of(reed, None).reference) == ({take.item}, {})
    Take.objects.create(**near, at=take.at - dt.timedelta(minutes=10))
    assert told.heard_of(reed, None).reference.keys() == {"tuning"}


@pytest.mark.parametrize(
    ("granted", "hidden"),
    [
        (QUIET, False),
        (QUIET | {"autoGainControl": True}, True),
        (QUIET | {"noiseSuppression": "no"}, True),
        ({}, True),
    ],
)
def test_processing_that_was_on_or_unknown_hides_soft_attacks(granted, hidden):
    assert Processing.from_json(granted).hides_level is hidden


def take_of(played: str, **result: object) -> Take:
    reed = make.ReedFactory.build(owner=None, studio=None, version=None)
    return Take(item=played, granted=QUIET, result=result, reed=reed)


@pytest.mark.parametrize(
    ("pitches", "octave", "word"),
    [
        ([("C5", 10), ("C6", 12)], True, "octaves"),
        ([("B4", -20), ("B5", -10)], True, "flat"),
        ([("C5", -60)], None, "flat"),
        ([("D5", 5)], None, "sharp"),
        ([("C5", 0), ("F5", 30)], False, "wild"),
        # one voice, or one or two that nobody can tell, is neither in octaves nor wild
        ([("C5", 3)], False, None),
        ([("C5", 3), ("C6", 3)], None, None),
    ],
)
def test_the_crow_is_told_beside_c(pitches, octave, word):
    heard = [{"hz": 500.0 + i, "name": name, "cents": cents} for i, (name, cents) in enumerate(pitches)]
    readings = told.readings_of(take_of("crow", item={"pitches": heard, "octave": octave}))
    assert [reading.choice for reading in readings] == [word][: word is not None]


def test_a_noisy_recording_gives_no_number():
    take = take_of("tuning", item={"cents": 3.0}, warnings=["This recording is too noisy to tell."])
    assert told.readings_of(take) == []
    assert told.told_by(take).too_noisy


def facts(heard: Told, reference: Told | None = None, **given: object) -> ReedFacts:
    beside = {} if reference is None else {"low_notes": reference}
    return ReedFacts(
        style=Style.SHORT, stage=Stage.PLAYING, takes={"low_notes": heard}, reference_takes=beside, **given
    )


def recorded(*given: object, **more: object) -> Finding:
    (found,) = [f for f in run_checks(facts(*given, **more), SHORT_SCRAPE) if f.check == "recorded"]
    return found


def test_silent_low_notes_ask_for_the_reference_before_any_scraping():
    found = recorded(Told(4, 2), may_act=True)
    assert found.outcome is Outcome.BELOW
    assert "reference reed" in found.next_step


def test_a_reference_that_is_silent_too_points_at_the_oboe():
    found = recorded(Told(4, 2), Told(4, 3), may_act=True)
    assert found.outcome is Outcome.NOTED
    assert "pad" in found.next_step


def test_a_reference_that_speaks_leads_to_the_usual_step():
    found = recorded(Told(4, 2), Told(4, 4), may_act=True)
    assert found.outcome is Outcome.BELOW
    assert "sides" in found.next_step


def test_notes_that_all_spoke_are_within():
    assert recorded(Told(4, 4)).outcome is Outcome.WITHIN


@pytest.mark.parametrize(
    ("own", "other", "outcome"),
    [(90, 40, Outcome.ABOVE), (45, 40, Outcome.WITHIN), (20, 40, Outcome.WITHIN)],
)
def test_response_is_told_beside_the_reference(own, other, outcome):
    found = recorded(Told(response_ms=Measured(own, 5)), Told(response_ms=Measured(other, 5)))
    assert found.outcome is outcome


def test_a_slower_response_than_the_references_has_the_usual_step_for_those_who_may_act():
    slow, quick = Told(response_ms=Measured(90, 5)), Told(response_ms=Measured(40, 5))
    assert "sides close" in recorded(slow, quick, may_act=True).next_step
    waiting = of_item("staccato", slow, quick)
    assert (waiting.waits, "Wait for your teacher" in waiting.next_step) == (True, True)
    acting = of_item("staccato", slow, quick, may_act=True)
    assert "middle of the tip" in acting.next_step
    assert "Knives" in acting.caution
    assert "once more" in of_item("tuning", slow, quick).next_step


@pytest.mark.parametrize(
    ("own", "other", "words"),
    [
        (Told(4, 2, doubtful=True), Told(4, 4), "nothing else sounding"),
        (Told(4, 2), Told(4, 4, doubtful=True), "nothing else sounding"),
        (Told(4, 3, once=True), Told(4, 4), "once more"),
        (Told(response_ms=Measured(300, 5), doubtful=True), Told(response_ms=Measured(40, 5)), "else"),
        (Told(response_ms=Measured(300, 5), once=True), Told(response_ms=Measured(40, 5)), "once more"),
    ],
)
def test_a_doubtful_take_or_one_note_alone_leads_to_no_knife(own, other, words):
    for item in ("low_notes", "third_octave", "staccato"):
        found = of_item(item, own, other, may_act=True)
        assert (found.outcome, found.irreversible, found.caution) == (Outcome.NOTED, False, "")
        assert words in found.next_step


def note(name: str, response_ms: float | None, sounded: bool = True) -> dict[str, object]:
    return {"name": name, "sounded": sounded, "response_ms": response_ms}


SPOKEN = {"asked": 2, "spoke": 2}


@pytest.mark.parametrize(
    ("notes", "once"),
    [
        ([note("D4", 100.0), note("C4", 110.0)], False),
        ([note("D4", 100.0), note("C4", 300.0)], True),
        ([note("D4", 100.0)], True),
        ([note("D4", 40.0), note("C4", None, sounded=False)], True),
        ([note("D4", None, sounded=False), note("C4", None, sounded=False)], False),
    ],
)
def test_what_one_note_alone_says_is_told_so(notes, once):
    assert told.told_by(take_of("low_notes", item=SPOKEN, notes=notes)).once is once


def test_two_takes_that_agree_are_no_single_note():
    silent = [note("D4", 40.0), note("C4", None, sounded=False)]
    other = [note("D4", None, sounded=False), note("C4", 40.0)]
    first, second, third = (take_of("low_notes", item=SPOKEN, notes=n) for n in (silent, silent, other))
    first.pk, second.pk, third.pk = 1, 2, 3
    assert told.told_by(first, [second]).once is False
    assert told.told_by(first, [third]).once is True
    assert told.told_by(first, [first]).once is True


def crow_of(hz: float) -> dict[str, object]:
    pitch = {"hz": hz, "name": "B4", "cents": hz - 500.0, "cents_standard_uncertainty": 2.0}
    return {"pitches": [pitch], "octave": True}


@pytest.mark.parametrize(
    ("item", "own", "alike", "other"),
    [
        ("tuning", {"cents": -20.0}, {"cents": -17.0}, {"cents": -2.0}),
        ("crow", crow_of(500.0), crow_of(503.0), crow_of(590.0)),
    ],
)
def test_a_number_of_one_take_needs_another_that_agrees(item, own, alike, other):
    first, second, third = (take_of(item, item=one) for one in (own, alike, other))
    first.pk, second.pk, third.pk = 1, 2, 3
    assert told.told_by(first).once is True
    assert told.told_by(first, [second]).once is False
    assert told.told_by(first, [third]).once is True
    voices = [{"kind": "voices", "start_s": 0.0, "end_s": 2.0, "hz": None}]
    second.result = {**second.result, "also": voices}
    assert told.told_by(first, [second]).once is True


@pytest.mark.parametrize(
    "result",
    [
        {"also": [{"kind": "voices", "start_s": 7.0, "end_s": 9.0, "hz": None}]},
        {"warnings": ["Notes were played in another order than asked."]},
        {"warnings": ["All notes sounded lower than asked: other notes, or another A?"]},
        {"warnings": ["There is no quiet moment: the noise, and when air began, cannot be told."]},
        {"warnings": ["Noise hides soft attacks: the response may be longer than it says."]},
        {"warnings": ["The file breaks off before its end: only what came before was heard."]},
        {"warnings": ["The room rings too long to tell the response: smaller room, phone nearer."]},
    ],
)
def test_something_else_or_another_list_makes_a_take_doubtful(result):
    assert told.told_by(take_of("low_notes", **result)).doubtful
    assert not told.told_by(take_of("low_notes")).doubtful


def of_item(item: str, own: Told, other: Told | None = None, **given: object) -> ReedFacts:
    beside = {} if other is None else {item: other}
    reed = ReedFacts(
        style=Style.SHORT, stage=Stage.PLAYING, takes={item: own}, reference_takes=beside, **given
    )
    (found,) = [f for f in run_checks(reed, SHORT_SCRAPE) if f.check == "recorded"]
    return found


@pytest.mark.parametrize(
    ("own", "other", "outcome", "words"),
    [
        (12.0, 1.0, Outcome.NOTED, "higher"),
        (-12.0, 1.0, Outcome.NOTED, "lower"),
        (14.0, 11.0, Outcome.WITHIN, "oboe or the player"),
    ],
)
def test_the_tuning_note_is_told_beside_the_reference(own, other, outcome, words):
    found = of_item("tuning", Told(cents=Measured(own, 0.5)), Told(cents=Measured(other, 0.5)))
    assert found.outcome is outcome
    assert words in found.message
    assert bool(found.next_step) is (outcome is Outcome.NOTED)


def test_a_noisy_take_says_only_that_and_what_to_do():
    found = recorded(Told(4, 1, Measured(400, 5), too_noisy=True))
    assert (found.outcome, found.next_step) == (Outcome.NOTED, recorded_checks.QUIETER)


@pytest.mark.parametrize("item", ["long_tone", "crow"])
def test_what_swells_or_rattles_has_no_response(item):
    notes = [{"response_ms": 700.0, "response_standard_uncertainty_ms": 5.0}]
    assert told.told_by(take_of(item, notes=notes)).response_ms is None
    assert told.told_by(take_of("staccato", notes=notes)).response_ms.value == 700.0


def test_a_very_slow_response_alone_is_a_remark_that_asks_for_the_reference():
    found = recorded(Told(response_ms=Measured(240, 10)))
    assert found.outcome is Outcome.NOTED
    assert "reference reed" in found.next_step


def test_an_ordinary_response_alone_says_nothing():
    found = run_checks(facts(Told(response_ms=Measured(60, 10))), SHORT_SCRAPE)
    assert [f for f in found if f.check == "recorded"] == []


def test_the_test_of_a_sheet_comes_back_as_it_was_kept():
    assert from_json(to_json(USUAL)) == USUAL
    assert from_json([]) == USUAL


@pytest.mark.parametrize(
    "rows",
    [
        [{"key": "trill"}],
        [{"key": "crow"}, {"key": "crow"}],
        [{"key": "staccato", "tempo": 5}],
        [{"key": "low_notes", "notes": ["D4"] * 25}],
    ],
)
def test_a_test_that_cannot_be_is_refused(rows):
    with pytest.raises(PlayingItemError):
        from_json(rows)
