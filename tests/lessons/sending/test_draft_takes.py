"""Recordings of a draft: sent once by the page or by a plain form, refused in words, removed."""

from __future__ import annotations

import io
import json
import uuid

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils.html import escape
from scipy.io import wavfile

from lessons.sending import actions
from lessons.sending.models import Submission
from reeds.take import actions as take_actions
from reeds.take.models import Take
from tests import factories as make


@pytest.fixture
def reed(student):
    return make.ReedFactory(owner=student, stage="playing", number=7)


@pytest.fixture
def draft(reed, student):
    return actions.draft_of(reed, student)


def recording(data: bytes | None = None, name: str = "take.wav", kind: str = "audio/wav"):
    return SimpleUploadedFile(name, make.tone() if data is None else data, kind)


@pytest.fixture
def send(as_member, student, reed, draft, django_capture_on_commit_callbacks):
    """Return a function that sends one recording as the page's script does; the worker listens."""

    def send(who=student, upload=None, reed=reed, **fields):
        given = {"key": str(draft.key), "take-key": str(uuid.uuid4()), "item": "tuning", **fields}
        given["take"] = recording() if upload is None else upload
        with django_capture_on_commit_callbacks(execute=True):
            return as_member(who).post(who.to("lessons:take", reed.pk), given, headers={"hx-request": "true"})

    return send


def test_a_recording_is_kept_heard_and_told_on_the_page(send, as_member, student, reed, draft):
    granted = dict.fromkeys(("autoGainControl", "noiseSuppression", "echoCancellation"), False)
    answer = send(granted=json.dumps(granted))
    assert answer.status_code == 200
    (take,) = draft.takes.all()
    assert (take.state, take.reed, take.by, take.granted) == ("ready", reed, student, granted)
    page = as_member(student).get(student.to("lessons:draft", reed.pk)).content.decode()
    assert "cents against the studio" in page
    assert "data-player" not in page  # that is drawn when it is opened
    assert student.to("reeds:take_heard", take.pk) in page
    assert "level, range and soft attacks cannot be told" not in page.split('id="recorder"')[0]


def test_the_same_key_twice_keeps_one_recording(send, draft):
    key = str(uuid.uuid4())
    first, second = (send(**{"take-key": key}) for _time in range(2))
    assert (first.status_code, second.status_code) == (200, 200)
    assert draft.takes.count() == Take.objects.count() == 1


@pytest.mark.parametrize(
    ("upload", "fields", "sentence"),
    [
        (recording(b""), {}, "is empty"),
        (None, {"item": "trill"}, "not in the playing test"),
        (None, {"take-key": "no"}, "too old for this"),
        ("no file", {}, "No recording came with it"),
        (None, {"of": "reference"}, "No reed is named as your reference"),
    ],
)
def test_what_cannot_be_kept_is_refused_with_a_sentence(send, upload, fields, sentence):
    answer = send(upload=upload, **fields)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert not Take.objects.exists()


def test_a_file_over_25_mb_is_refused_and_not_kept(send, monkeypatch):
    monkeypatch.setattr(take_actions, "MAX_BYTES", 1000)
    answer = send()
    assert answer.status_code == 422
    assert "larger than 25 MB" in answer.content.decode()
    assert not Take.objects.exists()


def silence(seconds: float) -> bytes:
    out = io.BytesIO()
    wavfile.write(out, 8000, np.zeros(int(seconds * 8000), np.int16))
    return out.getvalue()


@pytest.mark.parametrize(
    ("data", "kind", "sentence"),
    [
        (b"only words " * 200, "audio/wav", "cannot be read"),
        (make.picture(), "audio/mp4", "cannot be read"),
        (silence(200.0), "audio/wav", "3 minutes"),
        (b"<html><script>1</script></html>" * 20, "text/html", "cannot be read"),
    ],
    ids=["words", "a picture", "over three minutes", "a page"],
)
def test_what_the_worker_cannot_take_is_said_in_its_place(
    send, as_member, student, reed, data, kind, sentence
):
    assert send(upload=recording(data, kind=kind)).status_code == 200
    take = Take.objects.get()
    assert take.is_refused
    assert not take.file
    assert sentence in take.refusal
    page = as_member(student).get(student.to("lessons:draft", reed.pk)).content.decode()
    assert f'<p class="said-error">{escape(take.refusal)}</p>' in page
    assert as_member(student).get(student.to("reeds:take_sound", take.pk)).status_code == 404


def test_the_reference_reed_is_recorded_in_the_same_sitting(send, draft, student):
    good = make.ReedFactory(owner=student, is_reference=True, stage="playing")
    send(of="reference")
    assert draft.takes.get().reed == good


def test_a_recording_is_removed_and_its_file_with_it(
    send, as_member, student, reed, draft, django_capture_on_commit_callbacks
):
    send()
    take = draft.takes.get()
    with django_capture_on_commit_callbacks(execute=True):
        answer = as_member(student).post(
            student.to("lessons:take_remove", reed.pk, take.pk), headers={"hx-request": "true"}
        )
    assert (answer.status_code, answer.content, answer["HX-Trigger"]) == (200, b"", "take-heard")
    assert not draft.takes.exists()
    assert not take.file.storage.exists(take.file.name)
    assert not take.measurements.exists()


def test_one_of_a_round_that_was_sent_stays(send, as_member, student, reed, draft):
    send()
    take = draft.takes.get()
    as_member(student).post(student.to("lessons:go", reed.pk), {"key": str(draft.key), "question": "?"})
    address = student.to("lessons:take_remove", reed.pk, take.pk)
    as_member(student).post(address, {"key": str(draft.key)})
    assert Submission.objects.get(pk=draft.pk).takes.get() == take
    late = send()
    assert late.status_code == 409
    assert "goes with the next" in late.content.decode()


def test_a_fellow_a_teacher_and_a_stranger_add_and_remove_nothing(
    send, as_member, reed, draft, other_student, teacher, stranger
):
    send()
    take = draft.takes.get()
    for who in (other_student, teacher, stranger):
        assert send(who=who).status_code == 404
        assert as_member(who).post(who.to("lessons:take_remove", reed.pk, take.pk)).status_code == 404
    assert list(draft.takes.all()) == [take]
    assert Take.objects.count() == 1


def test_a_take_of_another_reed_is_not_removed_from_here(send, as_member, student, draft, reed):
    elsewhere = make.ready_take(make.ReedFactory(owner=student))
    assert (
        as_member(student).post(student.to("lessons:take_remove", reed.pk, elsewhere.pk)).status_code == 404
    )


def test_under_age_nothing_is_recorded_before_the_guardians_consent(send, student, as_member, reed):
    type(student).objects.filter(pk=student.pk).update(under_age=True)
    student.refresh_from_db()
    page = as_member(student).get(student.to("lessons:draft", reed.pk)).content.decode()
    assert "Photos and recordings can be sent once your guardian" in page
    assert "data-record>" not in page
    answer = send()
    assert answer.status_code == 422
    assert "consent" in answer.content.decode()
    assert not Take.objects.exists()


# --- without script ---


@pytest.fixture
def choose(as_member, student, reed, draft, django_capture_on_commit_callbacks):
    """Return a function that sends the whole form with a file chosen beside one item, without script."""

    def choose(item="tuning", field=None, **fields):
        given = {"key": str(draft.key), "item": item, "question": "typed before", **fields}
        given[field or f"take-{item}"] = recording()
        with django_capture_on_commit_callbacks(execute=True):
            return as_member(student).post(student.to("lessons:take", reed.pk), given)

    return choose


def test_without_script_a_chosen_file_is_added_and_what_was_typed_is_kept(choose, draft, student, reed):
    assert choose().url == student.to("lessons:draft", reed.pk) + "#takes"
    draft.refresh_from_db()
    assert draft.question == "typed before"
    take = draft.takes.get()
    assert (take.item, take.state) == ("tuning", "ready")
    assert set(take.granted.values()) == {None}


def test_without_script_a_form_without_a_file_says_so_and_keeps_what_was_typed(choose, draft):
    answer = choose(field="take-crow")
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "No recording came with it" in page
    assert "typed before" in page
    assert not draft.takes.exists()


def test_without_script_the_page_offers_a_file_for_each_item(as_member, student, reed, draft):
    page = as_member(student).get(student.to("lessons:draft", reed.pk)).content.decode()
    plain = page.split("<noscript>")
    assert sum('name="take-tuning"' in part.split("</noscript>")[0] for part in plain[1:]) == 1
    assert 'enctype="multipart/form-data"' in page


@pytest.mark.parametrize(
    ("granted", "sentence"),
    [
        ({"autoGainControl": True}, "The phone or browser changed the sound by itself"),
        ({}, "Whether the phone or browser changed the sound by itself is not known"),
    ],
)
def test_what_the_browser_granted_is_told_wherever_the_take_is_shown(
    granted, sentence, as_member, student, teacher, reed, draft
):
    take = make.ready_take(reed, granted=granted)
    draft.takes.add(take)
    told = f"{sentence}: level, range and soft attacks cannot be told."
    student_client, teacher_client = as_member(student), as_member(teacher)
    assert told in student_client.get(student.to("lessons:draft", reed.pk)).content.decode()
    student_client.post(student.to("lessons:go", reed.pk), {"key": str(draft.key), "question": "?"})
    for client, who, name, pk in (
        (student_client, student, "reeds:take_heard", take.pk),
        (student_client, student, "reeds:take", take.pk),
        (teacher_client, teacher, "reeds:take_heard", take.pk),
        (teacher_client, teacher, "reeds:take", take.pk),
    ):
        assert told in client.get(who.to(name, pk)).content.decode(), name
