"""The journal as it is read: a teacher the studio's with filters and pages, everybody else their own."""

from __future__ import annotations

import datetime as dt

import pytest

from studio.journal import Happened, JournalEntry, note
from studio.views import journal
from tests import factories as make

pytestmark = pytest.mark.django_db


def text(answer):
    return " ".join(answer.content.decode().split())


@pytest.fixture
def told(teacher, student, other_student, stranger):
    note(Happened.CONSENT, by=teacher, whose=student)
    note(Happened.ROLE, by=teacher, whose=other_student, detail="student>teacher")
    note(Happened.EXPORTED, by=stranger)


def table(answer):
    """The rows as they are shown, without those of the sign-ins of this very test."""
    found = text(answer).partition("<tbody>")[2].partition("</tbody>")[0].split("<tr>")[1:]
    return [row for row in found if "signed in" not in row]


def test_a_teacher_reads_the_studios_and_narrows_it(told, teacher, student, other_student, as_member):
    client, path = as_member(teacher), teacher.to("journal")
    rows = table(client.get(path))
    assert len(rows) == 2
    assert "student&gt;teacher" in rows[0]
    assert str(student) in rows[1]
    assert len(table(client.get(path, {"happened": "role"}))) == 1
    assert len(table(client.get(path, {"who": other_student.pk}))) == 1
    tomorrow = make.today() + dt.timedelta(days=1)
    assert table(client.get(path, {"first": tomorrow})) == []
    assert len(table(client.get(path, {"last": tomorrow, "who": teacher.pk}))) == 2
    assert len(table(client.get(path, {"first": "no day", "who": "nobody", "happened": "?"}))) == 2


def test_others_read_what_is_about_them(told, student, stranger, as_member):
    (row,) = table(as_member(student).get(student.to("journal")))
    assert "consent given" in row
    (row,) = table(as_member(stranger).get(stranger.to("journal")))
    assert "export asked for" in row


def test_it_comes_in_pages(teacher, as_member, monkeypatch):
    monkeypatch.setattr(journal, "PER_PAGE", 2)
    for _each in range(3):
        note(Happened.EXPORTED, by=teacher)
    client, path = as_member(teacher), teacher.to("journal")
    assert "Page 1 of 2" in text(client.get(path))
    assert "Page 2 of 2" in text(client.get(path, {"page": "99"}))


def test_who_did_it_is_said_where_it_was_nobody_who_is_here(teacher, student, as_member):
    note(Happened.ERASED_PICTURES, whose=student)
    note(Happened.SIGN_IN_FAILED, whose=student)
    page = text(as_member(teacher).get(teacher.to("journal")))
    assert "the server itself" in page
    assert "somebody" in page
    assert JournalEntry.objects.filter(by=None).count() == 2
