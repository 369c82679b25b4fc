"""Terms: the list, a new one, changing one."""

from __future__ import annotations

import datetime as dt

import pytest

from studio.models import Term
from tests import factories as make

AUTUMN = {"name": "Autumn", "starts_on": "2026-09-01", "ends_on": "2026-12-20"}


@pytest.fixture
def term(teacher):
    return make.TermFactory(
        studio=teacher.studio, starts_on=dt.date(2026, 9, 1), ends_on=dt.date(2026, 12, 20)
    )


def test_teacher_adds_a_term(teacher, as_member):
    client = as_member(teacher)
    answer = client.post(teacher.to("new_term"), AUTUMN, follow=True)
    term = Term.objects.get()
    assert (term.studio, term.name, str(term.starts_on)) == (teacher.studio, "Autumn", "2026-09-01")
    assert "Autumn" in answer.content.decode()
    assert "Some of its days" not in answer.content.decode()


def test_teacher_changes_a_term(teacher, term, as_member):
    client = as_member(teacher)
    assert 'value="2026-09-01"' in client.get(teacher.to("edit_term", term.pk)).content.decode()
    client.post(teacher.to("edit_term", term.pk), {**AUTUMN, "name": "First term"})
    assert Term.objects.get().name == "First term"


@pytest.mark.parametrize(
    ("first", "last", "overlaps"),
    [
        ("2026-12-20", "2027-03-01", True),
        ("2026-08-01", "2026-09-01", True),
        ("2026-10-01", "2026-10-02", True),
        ("2026-01-01", "2027-12-31", True),
        ("2026-12-21", "2027-03-01", False),
        ("2026-03-01", "2026-08-31", False),
    ],
)
def test_days_shared_with_another_term_are_kept_and_said(teacher, term, as_member, first, last, overlaps):
    given = {"name": "Other", "starts_on": first, "ends_on": last}
    page = as_member(teacher).post(teacher.to("new_term"), given, follow=True).content.decode()
    assert Term.objects.filter(name="Other").exists()
    assert ("belong to Autumn as well" in page) == overlaps


def test_days_shared_with_another_studios_term_are_not_said(teacher, stranger, term, as_member):
    page = as_member(stranger).post(stranger.to("new_term"), AUTUMN, follow=True).content.decode()
    assert "Some of its days" not in page


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"name": ""}, "required"),
        ({"starts_on": ""}, "required"),
        ({"ends_on": "soon"}, "valid date"),
        ({"ends_on": "2026-08-31"}, "last day comes after"),
        ({"ends_on": "2026-09-01"}, "last day comes after"),
    ],
)
def test_bad_term_is_refused_and_what_was_typed_stays(teacher, term, as_member, change, words):
    given = {**AUTUMN, "name": "Kept", **change}
    for url in (teacher.to("new_term"), teacher.to("edit_term", term.pk)):
        answer = as_member(teacher).post(url, given)
        assert answer.status_code == 422
        assert words in answer.content.decode()
        assert "name" in change or "Kept" in answer.content.decode()
    assert Term.objects.get().name == "Autumn"


def test_student_and_stranger_get_no_terms(teacher, student, stranger, term, as_member):
    for member, where in ((student, student), (stranger, teacher)):
        client = as_member(member)
        assert client.get(where.to("terms")).status_code == 404
        assert client.post(where.to("new_term"), AUTUMN).status_code == 404
        assert client.post(where.to("edit_term", term.pk), AUTUMN).status_code == 404
    assert as_member(stranger).get(stranger.to("edit_term", term.pk)).status_code == 404
    assert Term.objects.count() == 1


def test_terms_answer_no_other_method(teacher, term, as_member):
    client = as_member(teacher)
    assert client.post(teacher.to("terms")).status_code == 405
    assert client.delete(teacher.to("edit_term", term.pk)).status_code == 405


def test_a_term_is_taken_away_and_all_that_was_done_in_it_stays(teacher, student, term, as_member):
    row = make.sent_round(student)
    client = as_member(teacher)
    assert "Take this term away" in client.get(teacher.to("edit_term", term.pk)).content.decode()
    page = client.post(teacher.to("drop_term", term.pk), follow=True).content.decode()
    assert "Autumn is taken away" in page
    assert not Term.objects.exists()
    row.refresh_from_db()
    assert row.reed.taken_out_at is None
    assert client.post(teacher.to("drop_term", term.pk)).status_code == 404  # a double tap


def test_a_student_and_a_stranger_take_no_term_away_and_looking_does_not(
    teacher, student, stranger, term, as_member
):
    for who in (student, stranger):
        assert as_member(who).post(teacher.to("drop_term", term.pk)).status_code == 404
    assert as_member(teacher).get(teacher.to("drop_term", term.pk)).status_code == 405
    assert Term.objects.exists()
