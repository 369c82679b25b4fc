"""Demonstrations: a teacher's own photo or recording with words, kept once, offered where it is needed."""

from __future__ import annotations

import datetime as dt
import uuid
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone

from lessons.answering import actions as answering
from lessons.answering.models import Answer, Written
from lessons.demonstration import actions
from lessons.demonstration.models import Demonstration
from lessons.demonstration.subjects import subject_named, subjects
from lessons.demonstration.tasks import prepare_demonstration
from reeds.sweep import sweep
from tests import factories as make

LEAK = make.finding("differs", check="seen", quantity="airtight", next_step="Wind it again.")
GOOD = make.finding("within", quantity="airtight")


@pytest.fixture
def desk(as_member, teacher):
    return as_member(teacher)


@pytest.fixture
def shown(teacher):
    return make.ready_demonstration(teacher, about="quantity:airtight")


def form(**changed):
    given = {
        "title": "A fold cut half through",
        "words": "So deep and no deeper.",
        "about": "stage:shaped",
        "key": uuid.uuid4(),
        "photo": SimpleUploadedFile("fold.jpg", make.picture(), "image/jpeg"),
        "sound": SimpleUploadedFile("crow.wav", make.tone(seconds=1.0), "audio/wav"),
    }
    return {name: value for name, value in (given | changed).items() if value is not None}


def add(client, teacher, **changed):
    return client.post(teacher.to("lessons:demonstration_new"), form(**changed))


def files(settings):
    return sorted(path.suffix for path in Path(settings.MEDIA_ROOT).rglob("*") if path.is_file())


def test_a_teacher_adds_one_and_the_worker_prepares_its_files(
    desk, teacher, settings, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        answer = add(desk, teacher)
    row = Demonstration.objects.get()
    assert answer["Location"] == teacher.to("lessons:demonstration", row.pk)
    assert (row.photo_state, row.sound_state, row.made_by) == ("ready", "ready", teacher)
    assert files(settings) == [".jpg", ".jpg", ".wav"]  # no upload as it came
    page = desk.get(answer["Location"]).content.decode()
    assert "So deep and no deeper." in page
    assert "shaped" in page
    for name in (["photo", "screen"], ["photo", "thumbnail"], ["sound"]):
        address = teacher.to(f"lessons:demonstration_{name[0]}", row.pk, *name[1:])
        answer = desk.get(address)
        assert answer.status_code == 200
        assert b"".join(answer.streaming_content)
    assert desk.get(teacher.to("lessons:demonstration_photo", row.pk, "upright")).status_code == 404


@pytest.mark.parametrize("left", ["photo", "sound"])
def test_a_photo_or_a_recording_alone_is_enough(left, desk, teacher):
    assert add(desk, teacher, **{left: None}).status_code == 302


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"photo": None, "sound": None}, "Add a photo or a recording"),
        ({"title": ""}, "This field is required."),
        ({"words": " "}, "This field is required."),
        ({"about": "quantity:none"}, "Select a valid choice"),
        ({"key": "none"}, "valid UUID"),
        ({"photo": SimpleUploadedFile("x.jpg", b"no picture")}, "not a picture that can be read"),
        ({"sound": SimpleUploadedFile("x.wav", b"")}, "This recording is empty."),
        ({"sound": SimpleUploadedFile("x.wav", b"x" * (25 * 1024 * 1024 + 1))}, "larger than 25 MB"),
    ],
    ids=["nothing", "no title", "no words", "about", "key", "no picture", "empty", "large"],
)
def test_what_cannot_be_kept_is_refused_with_a_sentence_and_leaves_no_file(
    changed, said, desk, teacher, settings
):
    answer = add(desk, teacher, **changed)
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert not Demonstration.objects.exists()
    assert files(settings) == []


def test_a_form_sent_twice_keeps_one(desk, teacher, settings):
    key = uuid.uuid4()
    first, second = (add(desk, teacher, key=key) for _time in range(2))
    assert first["Location"] == second["Location"]
    assert Demonstration.objects.count() == 1
    assert files(settings) == [".jpg", ".wav"]


def test_a_recording_that_is_too_long_is_refused_and_the_photo_stays(
    desk, teacher, settings, django_capture_on_commit_callbacks
):
    long = SimpleUploadedFile("long.wav", make.tone(seconds=125.0), "audio/wav")
    with django_capture_on_commit_callbacks(execute=True):
        add(desk, teacher, sound=long)
    row = Demonstration.objects.get()
    assert (row.photo_state, row.sound_state) == ("ready", "refused")
    page = desk.get(teacher.to("lessons:demonstration", row.pk)).content.decode()
    assert "longer than two minutes" in page
    assert desk.get(teacher.to("lessons:demonstration_sound", row.pk)).status_code == 404
    assert files(settings) == [".jpg", ".jpg"]


def test_run_twice_is_run_once(desk, teacher, settings):
    add(desk, teacher)
    for _time in range(2):
        prepare_demonstration.func(Demonstration.objects.get().pk)
    assert files(settings) == [".jpg", ".jpg", ".wav"]


def test_everybody_of_the_studio_sees_it_and_nobody_else(as_member, teacher, student, stranger, shown):
    for name in ("demonstration", "demonstration_kept", "demonstration_sound"):
        for member in (teacher, student):
            answer = as_member(member).get(member.to(f"lessons:{name}", shown.pk))
            assert answer.status_code == 200, (name, member)
            if answer.streaming:
                list(answer.streaming_content)
        for address in (teacher.to(f"lessons:{name}", shown.pk), stranger.to(f"lessons:{name}", shown.pk)):
            assert as_member(stranger).get(address).status_code == 404
    assert shown.title in as_member(student).get(student.to("lessons:demonstrations")).content.decode()
    theirs = as_member(stranger).get(stranger.to("lessons:demonstrations")).content.decode()
    assert shown.title not in theirs


@pytest.mark.parametrize("role", ["student", "stranger"])
def test_only_teachers_write(role, as_member, request, teacher, shown):
    member = request.getfixturevalue(role)
    client = as_member(member)
    assert client.get(member.to("lessons:demonstration_edit", shown.pk)).status_code == 404
    for name in ("demonstration_edit", "demonstration_away"):
        assert client.post(teacher.to(f"lessons:{name}", shown.pk), form()).status_code == 404
    assert client.post(teacher.to("lessons:demonstration_new"), form()).status_code == 404
    shown.refresh_from_db()
    assert (shown.title, shown.put_away_at) == ("An even opening", None)
    assert Demonstration.objects.count() == 1


def test_its_words_are_changed_and_what_is_shown_stays(desk, teacher, shown):
    address = teacher.to("lessons:demonstration_edit", shown.pk)
    assert 'type="file"' not in desk.get(address).content.decode()
    desk.post(address, {"title": "Even", "words": "Both close.", "about": "check:evenness"})
    before = shown.photo_screen
    shown.refresh_from_db()
    assert (shown.title, shown.about, shown.photo_screen) == ("Even", "check:evenness", before)
    assert desk.post(address, {"title": "", "words": "x"}).status_code == 422


def test_put_away_it_is_offered_no_longer_and_stays_with_its_answers(
    desk, as_member, teacher, student, shown
):
    row = make.sent_round(student, findings=[LEAK])
    answer = answering.answer_of(row, teacher)
    answering.keep_answer(answer, Written(decision="work", demonstration_id=shown.pk))
    answering.send_answer(answer)
    desk.post(teacher.to("lessons:demonstration_away", shown.pk))
    client = as_member(student)
    page = client.get(student.to("lessons:round", row.pk))
    assert page.context["demonstrations"] == []
    assert student.to("lessons:demonstration_sound", shown.pk) in page.content.decode()
    assert shown.title not in client.get(student.to("lessons:demonstrations")).content.decode()
    assert shown.title in desk.get(teacher.to("lessons:demonstrations")).content.decode()
    desk.post(teacher.to("lessons:demonstration_away", shown.pk), {"again": "1"})
    assert shown.title in client.get(student.to("lessons:demonstrations")).content.decode()


def test_it_stands_beside_its_finding_on_the_students_page_and_the_review(
    desk, as_member, teacher, student, shown
):
    row = make.sent_round(student, findings=[LEAK])
    page = as_member(student).get(student.to("lessons:round", row.pk)).content.decode()
    assert page.count("Shown by your teacher:") == 1
    assert page.index("It is differs.") < page.index(f"Shown by your teacher: {shown.title}")
    review = desk.get(teacher.to("lessons:review", row.pk)).content.decode()
    assert f'data-goes-along="{shown.pk}"' in review


def test_a_number_that_is_as_it_should_be_needs_no_demonstration(as_member, student, shown):
    row = make.sent_round(student, findings=[GOOD])
    page = as_member(student).get(student.to("lessons:round", row.pk))
    assert page.context["demonstrations"] == []


def test_of_a_stage_it_is_offered_on_every_round_of_that_stage(as_member, teacher, student):
    make.ready_demonstration(teacher, about="stage:tied", title="Tied")
    make.ready_demonstration(teacher, about="stage:scraped", title="Scraped")
    row = make.sent_round(student)
    page = as_member(student).get(student.to("lessons:round", row.pk)).content.decode()
    assert "Shown by your teacher: Tied" in page
    assert "Scraped" not in page


def test_one_goes_along_with_an_answer_and_its_student_sees_it(desk, as_member, teacher, student, shown):
    row = make.sent_round(student)
    review = desk.get(teacher.to("lessons:review", row.pk)).content.decode()
    assert f'<option value="{shown.pk}"' in review
    given = {"words": "", "decision": "work", "demonstration": shown.pk}
    desk.post(teacher.to("lessons:keep", row.pk), given)
    assert Answer.objects.get().demonstration == shown
    desk.post(
        teacher.to("lessons:answer", row.pk), {**given, "since": Answer.objects.get().saved_at.isoformat()}
    )
    assert shown.title in as_member(student).get(student.to("lessons:round", row.pk)).content.decode()


def test_one_of_another_studio_cannot_go_along(desk, teacher, student, stranger):
    theirs = make.ready_demonstration(stranger)
    row = make.sent_round(student)
    given = {"decision": "work", "demonstration": theirs.pk}
    assert desk.post(teacher.to("lessons:answer", row.pk), given).status_code == 422
    assert not Answer.objects.sent().exists()


def test_answers_sent_together_take_it_along(teacher, student, shown):
    first, second = make.sent_round(student), make.sent_round(student)
    answer = answering.answer_of(first, teacher)
    answering.keep_answer(answer, Written("Reed [number].", "work", demonstration_id=shown.pk))
    answering.send_together(answer, [second])
    assert list(Answer.objects.sent().values_list("demonstration", flat=True)) == [shown.pk] * 2
    answering.take_answer_back(answer)
    assert Answer.objects.filter(words="Reed [number].", demonstration=shown).count() == 2


def test_what_it_can_be_of_is_named_and_each_once():
    keys = [key for _group, rows in subjects() for key, _name in rows]
    assert len(keys) == len(set(keys))
    assert max(map(len, keys)) <= Demonstration._meta.get_field("about").max_length
    assert all(subject_named(key) for key in keys)
    assert subject_named("check:gone") == subject_named("") == ""


def test_a_studio_keeps_at_most_300(desk, teacher, monkeypatch, shown):
    monkeypatch.setattr(actions, "MAX_SHOWN", 1)
    answer = add(desk, teacher)
    assert answer.status_code == 422
    assert "300 demonstrations" in answer.content.decode()


def test_the_sweep_keeps_what_rows_hold_and_takes_the_rest(shown, settings):
    orphan = Path(settings.MEDIA_ROOT) / f"demonstrations/{shown.studio_id}/left.jpg"
    orphan.write_bytes(b"x")
    before = len(files(settings))
    assert sweep(timezone.now() + dt.timedelta(days=2)) == 1
    assert len(files(settings)) == before - 1
