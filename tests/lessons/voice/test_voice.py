"""A teacher's voice in an answer: recorded, kept as takes are, heard by its student once it is sent."""

from __future__ import annotations

import datetime as dt
import uuid
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone

from lessons.answering import actions
from lessons.answering.models import Answer, Written
from lessons.voice.models import Voice
from lessons.voice.tasks import prepare_voice
from reeds.reed.actions import take_out
from reeds.sweep import sweep
from tests import factories as make


@pytest.fixture
def sent(student):
    return make.sent_round(student)


@pytest.fixture
def desk(as_member, teacher):
    return as_member(teacher)


def spoken(seconds=1.0, data=None, name="note.wav", content_type="audio/wav"):
    return SimpleUploadedFile(name, make.tone(seconds=seconds) if data is None else data, content_type)


def put(client, member, row, upload=None, key=None, **headers):
    data = {"voice": upload or spoken(), "key": key or uuid.uuid4()}
    return client.post(member.to("lessons:put_voice", row.pk), data, **headers)


def files(settings):
    return sorted(path for path in Path(settings.MEDIA_ROOT).rglob("*") if path.is_file())


@pytest.fixture
def note(desk, teacher, sent, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        assert put(desk, teacher, sent).status_code == 302
    return Voice.objects.get()


def send(sent, teacher, words=""):
    answer = actions.answer_of(sent, teacher)
    actions.keep_answer(answer, Written(words, "rest"))
    actions.send_answer(answer)
    return answer


def test_a_note_is_kept_like_a_take_and_heard_in_the_draft(desk, teacher, sent, note, settings):
    assert (note.sound_state, note.sound_type, note.sound_raw) == ("ready", "audio/wav", "")
    assert note.sound_seconds == pytest.approx(2.0, abs=0.1)  # a second between two silences of half a one
    assert len(files(settings)) == 4  # the three of the photo, and the note's sound alone
    assert Answer.objects.get().voice == note
    page = desk.get(teacher.to("lessons:review", sent.pk)).content.decode()
    assert teacher.to("lessons:voice_sound", note.pk) in page
    assert "Take the note out" in page


def test_the_outcome_alone_is_enough_beside_it_and_the_student_hears_it(
    as_member, teacher, student, sent, note
):
    client = as_member(student)
    assert client.get(student.to("lessons:voice_sound", note.pk)).status_code == 404
    send(sent, teacher)
    page = client.get(student.to("lessons:round", sent.pk)).content.decode()
    assert student.to("lessons:voice_sound", note.pk) in page
    heard = client.get(student.to("lessons:voice_sound", note.pk), headers={"range": "bytes=0-1"})
    assert (heard.status_code, heard["Content-Type"]) == (206, "audio/wav")
    assert b"".join(heard.streaming_content) == b"RI"


def test_without_an_outcome_a_note_is_not_sent(desk, teacher, sent, note):
    answer = desk.post(teacher.to("lessons:answer", sent.pk), {"words": ""})
    assert answer.status_code == 422
    assert Answer.objects.get().sent_at is None


def test_who_hears_it(as_member, teacher, student, other_student, stranger, sent, note):
    colleague = make.teacher(studio=teacher.studio)
    address = teacher.to("lessons:voice_sound", note.pk)
    assert as_member(colleague).get(address).status_code == 404  # a draft is its teacher's alone
    send(sent, teacher)
    for member, status in ((teacher, 200), (colleague, 200), (student, 200), (other_student, 404)):
        answer = as_member(member).get(address)
        assert answer.status_code == status, member
        if answer.streaming:
            list(answer.streaming_content)
    assert as_member(stranger).get(address).status_code == 404
    assert as_member(stranger).get(stranger.to("lessons:voice_sound", note.pk)).status_code == 404


def test_of_a_reed_taken_out_its_student_hears_nothing(as_member, teacher, student, sent, note):
    send(sent, teacher)
    take_out(sent.reed)
    assert as_member(student).get(student.to("lessons:voice_sound", note.pk)).status_code == 404


def test_a_colleague_finds_it_under_what_was_answered_before(as_member, teacher, student, sent, note):
    send(sent, teacher, "Good.")
    later = make.sent_round(student, reed=sent.reed, round=2)
    colleague = make.teacher(studio=teacher.studio)
    page = as_member(colleague).get(teacher.to("lessons:rest", later.pk)).content.decode()
    assert teacher.to("lessons:voice_sound", note.pk) in page


def test_the_reeds_life_says_that_a_note_went_along(as_member, teacher, student, sent, note):
    address = student.to("reeds:reed", sent.reed_id)
    send(sent, teacher)
    assert "with a spoken note" in as_member(student).get(address).content.decode()


def test_taken_back_with_its_answer_it_is_the_teachers_alone_again(as_member, teacher, student, sent, note):
    actions.take_answer_back(send(sent, teacher))
    assert as_member(student).get(student.to("lessons:voice_sound", note.pk)).status_code == 404
    assert Answer.objects.get().voice == note


@pytest.mark.parametrize("role", ["student", "stranger"])
def test_only_a_teacher_of_the_studio_speaks(role, as_member, request, teacher, sent):
    member = request.getfixturevalue(role)
    assert put(as_member(member), member, sent).status_code == 404
    assert put(as_member(member), teacher, sent).status_code == 404
    assert not Voice.objects.exists()


def test_the_same_key_twice_keeps_one_note_and_one_file(desk, teacher, sent, settings):
    key = uuid.uuid4()
    before = len(files(settings))
    for _time in range(2):
        assert put(desk, teacher, sent, key=key).status_code == 302
    assert Voice.objects.count() == 1
    assert len(files(settings)) == before + 1


def test_another_note_takes_its_place_and_the_first_goes_with_its_file(
    desk, teacher, sent, note, settings, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        put(desk, teacher, sent, spoken(2.0))
    assert Voice.objects.get() != note
    assert len(files(settings)) == 4


def test_taken_out_its_file_goes_and_twice_is_once(
    desk, teacher, sent, note, settings, django_capture_on_commit_callbacks
):
    for _time in range(2):
        with django_capture_on_commit_callbacks(execute=True):
            assert desk.post(teacher.to("lessons:drop_voice", sent.pk)).status_code == 302
    assert not Voice.objects.exists()
    assert len(files(settings)) == 3


def test_of_an_answer_that_was_sent_nothing_is_changed(desk, teacher, sent, note, settings):
    send(sent, teacher)
    assert put(desk, teacher, sent).status_code == 422
    assert desk.post(teacher.to("lessons:drop_voice", sent.pk)).status_code == 422
    assert Voice.objects.get() == note
    assert len(files(settings)) == 4


@pytest.mark.parametrize(
    ("upload", "key", "said"),
    [
        (spoken(data=b""), None, "This recording is empty."),
        (spoken(data=b"x" * (12 * 1024 * 1024 + 1)), None, "larger than 12 MB"),
        (spoken(), "no key", "The page is too old for this."),
    ],
    ids=["empty", "large", "no key"],
)
def test_what_cannot_be_kept_is_refused_with_a_sentence(upload, key, said, desk, teacher, sent, settings):
    answer = put(desk, teacher, sent, upload, key, headers={"hx-request": "true"})
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert not Voice.objects.exists()
    assert len(files(settings)) == 3


def test_nothing_at_all_is_refused_too(desk, teacher, sent):
    answer = desk.post(teacher.to("lessons:put_voice", sent.pk), {"key": uuid.uuid4()})
    assert answer.status_code == 422
    assert "No recording came with it." in answer.content.decode()


@pytest.mark.parametrize(
    ("upload", "said"),
    [
        (spoken(data=b"no sound at all"), "cannot be read as a sound recording"),
        (spoken(125.0), "longer than two minutes"),
    ],
    ids=["no sound", "long"],
)
def test_what_the_worker_cannot_use_is_refused_on_the_page_and_leaves_no_file(
    upload, said, desk, teacher, sent, settings, django_capture_on_commit_callbacks
):
    upload.seek(0)
    with django_capture_on_commit_callbacks(execute=True):
        put(desk, teacher, sent, upload)
    voice = Voice.objects.get()
    assert said in desk.get(teacher.to("lessons:voice", voice.pk)).content.decode()
    assert desk.get(teacher.to("lessons:voice_sound", voice.pk)).status_code == 404
    assert len(files(settings)) == 3


def test_run_twice_is_run_once_and_a_note_dropped_meanwhile_leaves_nothing(
    desk, teacher, sent, settings, django_capture_on_commit_callbacks
):
    put(desk, teacher, sent)
    voice = Voice.objects.get()
    for _time in range(2):
        prepare_voice.func(voice.pk)
    assert len(files(settings)) == 4
    with django_capture_on_commit_callbacks(execute=True):
        actions.drop_voice(Answer.objects.get())
    prepare_voice.func(voice.pk)
    assert len(files(settings)) == 3


def test_the_page_asks_while_it_is_prepared_and_then_stops(desk, teacher, sent):
    put(desk, teacher, sent)
    voice = Voice.objects.get()
    address = teacher.to("lessons:voice", voice.pk)
    assert "hx-get" in desk.get(address).content.decode()
    assert "hx-get" not in desk.get(address, {"tries": 24}).content.decode()
    prepare_voice.func(voice.pk)
    assert "hx-get" not in desk.get(address).content.decode()


def test_answers_sent_together_share_it(teacher, student, sent, note, as_member):
    other = make.sent_round(student)
    answer = actions.answer_of(sent, teacher)
    actions.keep_answer(answer, Written(decision="rest"))
    assert actions.send_together(answer, [other]) == []
    page = as_member(student).get(student.to("lessons:round", other.pk)).content.decode()
    assert student.to("lessons:voice_sound", note.pk) in page
    actions.take_answer_back(Answer.objects.get(submission=other))
    actions.drop_voice(Answer.objects.get(submission=sent))
    assert Voice.objects.get() == note  # the other draft still holds it


def test_a_round_with_a_note_of_its_own_is_left_out_of_what_is_sent_together(teacher, student, sent, note):
    first = make.sent_round(student)
    answer = actions.answer_of(first, teacher)
    actions.keep_answer(answer, Written(decision="rest"))
    (left,) = actions.send_together(answer, [sent])
    assert left.why == "you have begun an answer of its own"


def test_the_sweep_keeps_what_rows_hold_and_takes_the_rest(note, settings):
    orphan = Path(settings.MEDIA_ROOT) / f"voices/{note.studio_id}/left.webm"
    orphan.write_bytes(b"x")
    assert sweep(timezone.now() + dt.timedelta(days=2)) == 1
    assert not orphan.exists()
    assert len(files(settings)) == 4


@pytest.fixture
def unreadable(desk, teacher, sent):
    """Return a note that was sent before the worker found that nobody can hear it."""
    put(desk, teacher, sent, spoken(data=b"no sound at all"))
    answer = send(sent, teacher)
    prepare_voice.func(answer.voice_id or Answer.objects.get().voice_id)
    return Voice.objects.get()


def test_a_note_that_cannot_be_heard_holds_the_answer(desk, teacher, sent):
    put(desk, teacher, sent, spoken(data=b"no sound at all"))
    prepare_voice.func(Voice.objects.get().pk)
    page = desk.post(teacher.to("lessons:answer", sent.pk), {"decision": "rest"})
    assert page.status_code == 422
    assert "The spoken note cannot be heard" in page.content.decode()
    desk.post(teacher.to("lessons:drop_voice", sent.pk))
    assert desk.post(teacher.to("lessons:answer", sent.pk), {"decision": "rest"}).status_code == 302


def test_one_that_was_sent_before_that_stands_in_the_queue_until_it_is_taken_out(
    desk, as_member, teacher, student, sent, unreadable
):
    student_page = as_member(student).get(student.to("lessons:round", sent.pk)).content.decode()
    assert "spoken" not in student_page
    queue = teacher.to("lessons:queue")
    assert "Your spoken note with reed" in desk.get(queue).content.decode()
    colleague = make.teacher(studio=teacher.studio)
    assert "Your spoken note" not in as_member(colleague).get(queue).content.decode()
    assert desk.post(teacher.to("lessons:drop_voice", sent.pk)).status_code == 302
    assert "Your spoken note" not in desk.get(queue).content.decode()
    assert Answer.objects.sent().get().voice is None
    assert not Voice.objects.exists()
