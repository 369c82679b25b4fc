"""Set work: set by a teacher, made by a student, what came of it seen from both sides."""

from __future__ import annotations

import datetime as dt

import pytest
from django.utils import timezone

from lessons.lesson.models import Lesson, SetWork
from tests import factories as make
from tests.reeds.form import fields_of


@pytest.fixture
def work(teacher, student) -> SetWork:
    return SetWork.objects.create(studio=teacher.studio, student=student, words="Tie two blanks", count=2)


def form(student, **changed):
    due = make.today() + dt.timedelta(days=7)
    given = {
        "words": "Tie three blanks",
        "count": "3",
        "pattern": "",
        "due_on": due,
        "students": [student.pk],
    }
    return given | changed


def test_a_teacher_sets_work_in_a_lesson_for_two_students(as_member, teacher, student, other_student):
    lesson = Lesson.objects.create(studio=teacher.studio, at=timezone.now(), time_zone="UTC")
    address = teacher.to("lessons:work_new") + f"?lesson={lesson.pk}"
    as_member(teacher).post(address, form(student, students=[student.pk, other_student.pk]))
    rows = SetWork.objects.order_by("pk")
    assert {row.student for row in rows} == {student, other_student}
    assert {row.lesson for row in rows} == {lesson}
    assert {row.count for row in rows} == {3}


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"due_on": "2020-01-01"}, "That day is over"),
        ({"count": "0"}, "one reed to fifty"),
        ({"count": "900"}, "one reed to fifty"),
        ({"words": ""}, "required"),
        ({"students": []}, "required"),
    ],
)
def test_what_cannot_be_set_is_questioned(as_member, teacher, student, changed, sentence):
    answer = as_member(teacher).post(teacher.to("lessons:work_new"), form(student, **changed))
    assert answer.status_code == 422
    assert sentence in answer.text
    assert not SetWork.objects.exists()


def test_a_student_sets_no_work(as_member, student):
    assert as_member(student).post(student.to("lessons:work_new"), form(student)).status_code == 404


def test_a_student_says_which_reeds_came_of_it_and_the_teacher_sees_them(as_member, teacher, student, work):
    reeds = [make.ReedFactory(owner=student) for _ in range(2)]
    address = student.to("lessons:work_reeds", work.pk)
    as_member(student).post(address, {"reeds": [reeds[0].pk]})
    work.refresh_from_db()
    assert work.done_at is None
    as_member(student).post(address, {"reeds": [reed.pk for reed in reeds]})
    work.refresh_from_db()
    assert work.done_at is not None
    page = as_member(teacher).get(teacher.to("lessons:work", work.pk)).text
    assert all(f">{reed.number}</a>" in page for reed in reeds)


def test_reeds_made_for_it_take_its_count_and_sheet_and_are_tied_to_it(as_member, student, teacher, work):
    version = make.VersionFactory(pattern__studio=student.studio)
    make.VersionFactory(pattern__studio=student.studio, pattern__name="A first one")
    SetWork.objects.update(pattern=version.pattern)
    client, address = as_member(student), student.to("lessons:work_make", work.pk)
    fields = fields_of(client.get(address))
    assert (fields["count"], fields["pattern"]) == ("2", str(version.pattern_id))
    assert client.post(address, fields).status_code == 422  # no staple
    answers = [client.post(address, fields | {"staple_length": "46"}) for _tap in range(2)]
    made = list(student.reeds.order_by("number"))
    assert {answer.url for answer in answers} == {student.to("reeds:made", made[0].batch)}
    assert [(reed.version, reed.staple_length) for reed in made] == [(version, 46.0)] * 2
    work.refresh_from_db()
    assert (list(work.reeds.order_by("number")), work.done_at is None) == (made, False)
    assert "Send reed" in client.get(answers[0].url).text
    assert address in client.get(student.to("lessons:work", work.pk)).text
    assert as_member(teacher).get(teacher.to("lessons:work_make", work.pk)).status_code == 404
    taken = fields | {"staple_length": "46", "number": str(made[1].number), "batch": ""}
    assert "never used twice" in client.post(address, taken).text


def test_work_without_a_sheet_leaves_the_choice_and_asks_for_what_is_still_wanted(as_member, student, work):
    assert fields_of(as_member(student).get(student.to("lessons:work_make", work.pk)))["pattern"]  # starters
    away = make.VersionFactory(pattern__studio=student.studio, pattern__put_away_at=timezone.now()).pattern
    work.reeds.add(make.ReedFactory(owner=student))
    client, address = as_member(student), student.to("lessons:work_make", work.pk)
    for sheet in (None, away):
        SetWork.objects.update(pattern=sheet)
        fields = fields_of(client.get(address))
        assert (fields["count"], fields["pattern"] != str(away.pk)) == ("1", True)


def test_another_students_reed_did_not_come_of_it(as_member, student, other_student, work):
    foreign = make.ReedFactory(owner=other_student)
    answer = as_member(student).post(student.to("lessons:work_reeds", work.pk), {"reeds": [foreign.pk]})
    assert answer.status_code == 422
    assert not work.reeds.exists()


@pytest.mark.parametrize("who", ["other_student", "stranger"])
def test_others_do_not_see_it(as_member, work, who, request):
    member = request.getfixturevalue(who)
    assert as_member(member).get(member.to("lessons:work", work.pk)).status_code == 404


def test_late_work_says_since_when(as_member, student, work):
    SetWork.objects.update(due_on=dt.date(2026, 1, 5))
    assert "was due 5 January 2026" in as_member(student).get(student.to("lessons:work", work.pk)).text


def test_work_is_taken_back_only_before_a_reed_came_of_it(as_member, teacher, student, work):
    client = as_member(teacher)
    work.reeds.add(make.ReedFactory(owner=student))
    assert client.post(teacher.to("lessons:work_remove", work.pk)).status_code == 404
    work.reeds.clear()
    client.post(teacher.to("lessons:work_remove", work.pk))
    assert not SetWork.objects.exists()


def test_the_page_says_measuring_sheet(as_member, teacher):
    page = as_member(teacher).get(teacher.to("lessons:work_new")).text
    assert "Measuring sheet" in page
    assert "Pattern" not in page
