"""A spoken note to be written down: heard by who spoke it alone, gone when the letter is given."""

import uuid
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from lessons.letter import actions
from lessons.letter.models import Letter
from lessons.voice.models import Voice
from tests import factories as make
from tests.lessons.letter import make_letter as of


@pytest.fixture
def term(teacher):
    return of.term(teacher.studio)


@pytest.fixture
def put(as_member, teacher, student, term):
    address = teacher.to("lessons:letter_voice", student.pk, term.pk)

    def sent(by=teacher, data=None, key=None, **headers):
        upload = SimpleUploadedFile("note.wav", make.tone(seconds=1.0) if data is None else data, "audio/wav")
        return as_member(by).post(address, {"voice": upload, "key": key or uuid.uuid4()}, headers=headers)

    return sent


@pytest.fixture
def page(as_member, teacher, student, term):
    address = teacher.to("lessons:letter_write", student.pk, term.pk)
    return lambda by=teacher: as_member(by).get(address).content.decode()


def sounds(settings):
    return sorted(Path(settings.MEDIA_ROOT).rglob("*.wav"))


def test_it_is_heard_beside_the_words_and_begins_the_draft(
    put, page, teacher, settings, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        assert put().status_code == 302
    voice = Voice.objects.get()
    assert (Letter.objects.get().voice, voice.sound_state) == (voice, "ready")
    assert teacher.to("lessons:voice_sound", voice.pk) in page()
    assert "Take the note out" in page()
    assert len(sounds(settings)) == 1


def test_a_draft_begun_by_a_note_still_proposes(put, page, student):
    for days in (10, 9, 8):
        of.sent_photo(student, days)
    put()
    assert "Three reeds made" in page()
    assert page().count('name="pictures"') == 3
    assert page().count("checked") >= 3


def test_nobody_else_hears_it_and_the_student_never(as_member, put, page, teacher, student, term):
    put()
    voice = Voice.objects.get()
    colleague = make.teacher(studio=teacher.studio)
    assert "Another teacher has spoken a note; only they hear it." in page(colleague)
    assert teacher.to("lessons:voice_sound", voice.pk) not in page(colleague)
    for member in (colleague, student):
        assert as_member(member).get(member.to("lessons:voice_sound", voice.pk)).status_code == 404


def test_another_takes_its_place_and_it_is_taken_out(
    as_member, put, teacher, student, term, settings, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        put()
        put(data=make.tone(seconds=0.5))
    assert Voice.objects.count() == 1
    assert len(sounds(settings)) == 1
    address = teacher.to("lessons:letter_drop_voice", student.pk, term.pk)
    with django_capture_on_commit_callbacks(execute=True):
        for _twice in range(2):
            assert as_member(teacher).post(address).status_code == 302
    assert not Voice.objects.exists()
    assert sounds(settings) == []


def test_it_goes_when_the_letter_is_given(
    put, teacher, student, term, settings, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        put()
        letter = of.given(teacher, student, term)
    assert letter.voice is None
    assert not Voice.objects.exists()
    assert sounds(settings) == []


def test_it_goes_when_the_draft_is_thrown_away(
    put, student, term, settings, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        put()
        actions.throw_away(Letter.objects.get())
    assert not Voice.objects.exists()
    assert sounds(settings) == []


def test_the_same_key_twice_is_one_note(put):
    key = uuid.uuid4()
    assert {put(key=key).status_code for _twice in range(2)} == {302}
    assert Voice.objects.count() == 1


def test_the_pages_script_is_answered_with_the_part(put):
    part = put(**{"HX-Request": "true"}).content.decode()
    assert "Take the note out" in part
    assert "<html" not in part


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"data": b""}, "This recording is empty."),
        ({"key": "no key"}, "The page is too old for this."),
    ],
)
def test_what_cannot_be_kept_is_refused_with_a_sentence(put, wrong, said):
    answer = put(**{"HX-Request": "true"}, **wrong)
    assert (answer.status_code, said in answer.content.decode()) == (422, True)
    assert not Voice.objects.exists()


def test_without_a_file_that_is_said(as_member, teacher, student, term):
    address = teacher.to("lessons:letter_voice", student.pk, term.pk)
    answer = as_member(teacher).post(address, {"key": uuid.uuid4()})
    assert (answer.status_code, "No recording came with it." in answer.content.decode()) == (422, True)


def test_only_teachers_speak(put, student, other_student, stranger):
    for member in (student, other_student, stranger):
        assert put(by=member).status_code == 404
    assert not Voice.objects.exists()
