"""The term page: who sees whose figures, and what stands there."""

from __future__ import annotations

import datetime as dt

import pytest
from django.utils import timezone

from reeds.reed.models.measurement import Measurement
from tests import factories as make

TODAY = dt.date(2026, 11, 2)


@pytest.fixture
def term(teacher):
    today = make.today()
    ends = today + dt.timedelta(days=40)
    return make.TermFactory(studio=teacher.studio, starts_on=today - dt.timedelta(days=60), ends_on=ends)


def sent_reed(student, value=72.4, **given):
    reed = make.ReedFactory(owner=student)
    number = Measurement.objects.create(
        studio=reed.studio, reed=reed, quantity="tie_length", value=value, u=0.2, method="ruler", stage="tied"
    )
    finding = {"check": "limits", "outcome": "above", "quantity": "tie_length"}
    round_ = make.SubmissionFactory(reed=reed, sent_at=timezone.now(), findings=[finding], **given)
    round_.measurements.add(number)
    return round_


def test_a_student_reads_their_own_term(as_member, student, other_student, term):
    sent_reed(student)
    sent_reed(other_student)
    client = as_member(student)
    assert "1 reed sent" in client.get(student.to("lessons:term")).text
    tables = client.get(student.to("lessons:term_reckoned")).text
    assert "tie length: above" in tables
    assert "1 of 1: 100 %" in tables
    assert "72.4" in client.get(student.to("lessons:term_pictures")).text


def test_a_teacher_reads_the_studio_and_one_student(as_member, teacher, student, other_student, term):
    sent_reed(student)
    make.SubmissionFactory(reed=make.ReedFactory(owner=other_student), sent_at=timezone.now())
    client = as_member(teacher)
    assert "1 of 2: 50 %" in client.get(teacher.to("lessons:term_reckoned")).text
    assert "1 reed sent" in client.get(teacher.to("lessons:term", student.pk)).text


def test_a_fellow_student_is_not_shown(as_member, student, other_student, term):
    assert as_member(student).get(student.to("lessons:term", other_student.pk)).status_code == 404


def test_a_stranger_sees_no_term_of_this_studio(as_member, stranger, student, term):
    client = as_member(stranger)
    assert client.get(student.to("lessons:term")).status_code == 404
    assert client.get(stranger.to("lessons:term") + f"?term={term.pk}").status_code == 404


def test_a_term_that_is_no_number_does_not_exist(as_member, student, term):
    assert as_member(student).get(student.to("lessons:term") + "?term=x").status_code == 404


def test_without_a_term_the_page_says_so(as_member, student):
    assert "No term has been named yet" in as_member(student).get(student.to("lessons:term")).text


def test_an_empty_term_says_so(as_member, student, term):
    assert "Nothing was made or sent" in as_member(student).get(student.to("lessons:term")).text


def test_answered_rounds_have_days_and_waiting_ones_stand_apart(as_member, student, term):
    now = timezone.now()
    sent_reed(student, answered_at=now + dt.timedelta(days=2))
    sent_reed(student)
    page = as_member(student).get(student.to("lessons:term_reckoned")).text
    assert "(1 round answered)" in page
    assert "1 round still waits" in page


@pytest.mark.parametrize("reeds", [2, 9])
def test_the_number_of_queries_does_not_grow(
    as_member, teacher, student, term, reeds, django_assert_max_num_queries
):
    for _ in range(reeds):
        sent_reed(student)
    client = as_member(teacher)
    with django_assert_max_num_queries(20):
        client.get(teacher.to("lessons:term"))


def test_the_studios_tables_come_when_they_are_asked_for(as_member, teacher, student, term):
    sent_reed(student)
    client = as_member(teacher)
    page = client.get(teacher.to("lessons:term")).text
    where = f"{teacher.to('lessons:term_reckoned')}?term={term.pk}"
    assert f'hx-get="{where}"' in page
    assert "How many came to play" not in page
    assert "How many came to play" in client.get(where).text


def test_tables_are_a_students_own_and_no_strangers(as_member, student, other_student, stranger, term):
    sent_reed(student)
    tables = as_member(student).get(student.to("lessons:term_reckoned"))
    assert "1 of 1: 100 %" in tables.text
    assert "1 of 1" not in as_member(other_student).get(other_student.to("lessons:term_reckoned")).text
    assert as_member(stranger).get(student.to("lessons:term_reckoned")).status_code == 404
    of_another = stranger.to("lessons:term_reckoned") + f"?term={term.pk}"
    assert as_member(stranger).get(of_another).status_code == 404


def test_a_teacher_has_a_students_tables_and_pictures_and_another_student_has_not(
    as_member, teacher, student, other_student, stranger, term
):
    sent_reed(student)
    for part in ("lessons:term_reckoned", "lessons:term_pictures"):
        page = as_member(teacher).get(teacher.to(part, student.pk)).text
        assert str(student) in page
        assert f'href="{teacher.to("lessons:term", student.pk)}?term={term.pk}"' in page
        assert as_member(stranger).get(stranger.to(part, student.pk)).status_code == 404
        assert as_member(other_student).get(other_student.to(part, student.pk)).status_code == 404
    assert "1 of 1: 100 %" in as_member(teacher).get(teacher.to("lessons:term_reckoned", student.pk)).text


def test_a_teachers_own_term_is_by_number_as_anybodys(as_member, teacher, term):
    sent_reed(teacher)
    client, tables = as_member(teacher), teacher.to("lessons:term_reckoned", teacher.pk) + f"?term={term.pk}"
    assert f'hx-get="{tables}"' in client.get(teacher.to("lessons:term", teacher.pk)).text
    assert f'href="{teacher.to("lessons:term", teacher.pk)}?term={term.pk}"' in client.get(tables).text


def test_a_studios_numbers_are_not_all_drawn_at_once(as_member, teacher, term):
    answer = as_member(teacher).get(teacher.to("lessons:term_pictures"))
    assert (answer.status_code, answer.url) == (302, teacher.to("lessons:term"))


def test_without_a_term_there_are_no_tables(as_member, student):
    for part in ("lessons:term_reckoned", "lessons:term_pictures"):
        assert as_member(student).get(student.to(part)).status_code == 404


def test_tables_of_an_empty_term_say_so(as_member, student, term):
    page = as_member(student).get(student.to("lessons:term_reckoned")).text
    assert "Nothing was made or sent" in page
