"""The journal: one way in, no way to change it, once a day for what was opened, nobody's words."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import DatabaseError, IntegrityError
from django.test import Client
from django.utils import timezone

from studio.journal import KEPT, Happened, JournalEntry, Thing, note, note_opened
from studio.models import Member, Studio
from tests import factories as make
from tests.world import World

pytestmark = pytest.mark.django_db


def told(**of):
    return list(JournalEntry.objects.filter(**of).order_by("pk"))


def test_one_way_in_and_none_to_change(teacher, student):
    note(Happened.ROLE, by=teacher, whose=student, detail="student>teacher")
    (row,) = told(happened=Happened.ROLE)
    assert (row.studio, row.by, row.whose, row.detail) == (
        teacher.studio,
        teacher,
        student,
        "student>teacher",
    )
    for change in (row.save, row.delete, JournalEntry.objects.all().delete):
        with pytest.raises(TypeError):
            change()
    with pytest.raises(TypeError):
        JournalEntry.objects.update(detail="")


@pytest.mark.parametrize("words", ["Dear Anna", "42", "a>b>c", "x" * 30, "it's"])
def test_nobodys_words_fit_in(teacher, words):
    with pytest.raises(ValueError, match="word of ours"):
        note(Happened.ROLE, by=teacher, detail=words)


def test_nobody_did_nothing():
    with pytest.raises(ValueError, match="says who"):
        note(Happened.ERASED)


def test_a_member_in_it_is_not_deleted_but_with_the_studio(teacher, student):
    note(Happened.CONSENT, by=teacher, whose=student)
    with pytest.raises(IntegrityError):
        Member.objects.filter(pk=student.pk).delete()
    Studio.objects.filter(pk=teacher.studio_id).delete()
    assert told() == []


def test_what_was_kept_long_enough_is_forgotten(teacher):
    now = timezone.now()
    note(Happened.CONSENT, by=teacher)
    assert JournalEntry.objects.forget_old(now + KEPT - dt.timedelta(days=1)) == 0
    assert JournalEntry.objects.forget_old(now + KEPT + dt.timedelta(days=1)) == 1
    assert told() == []


def test_what_was_opened_is_told_once_a_day_and_ones_own_never(teacher, student, monkeypatch):
    photo = make.ready_photo(make.ReedFactory(owner=student))
    for _time in range(2):
        note_opened(teacher, Thing.PHOTO, photo, student.pk)
        note_opened(student, Thing.PHOTO, photo, student.pk)
    assert [(row.by, row.whose, row.number) for row in told()] == [(teacher, student, photo.pk)]
    tomorrow = make.today() + dt.timedelta(days=1)
    monkeypatch.setattr("studio.journal.timezone.localdate", lambda: tomorrow)
    note_opened(teacher, Thing.PHOTO, photo, student.pk)
    assert len(told()) == 2


def test_a_page_shows_even_where_it_cannot_be_written(teacher, student, monkeypatch, caplog):
    photo = make.ready_photo(make.ReedFactory(owner=student))

    def full(*_args, **_kwargs):
        raise DatabaseError("database or disk is full")

    monkeypatch.setattr(type(JournalEntry.objects.all()), "bulk_create", full)
    monkeypatch.setattr(type(JournalEntry.objects), "bulk_create", full)
    note_opened(teacher, Thing.PHOTO, photo, student.pk)
    assert f"opened photo {photo.pk}" in caplog.text


def test_pages_and_files_of_others_are_told(as_member):
    world = World()
    teacher, student, photo = world.teacher, world.student, world.photo
    for member in (teacher, student, world.fellow):
        client = as_member(member)
        for name, *args in (
            ("reeds:photo", photo.pk, "thumbnail"),
            ("reeds:take", world.take.pk),
            ("reeds:take_sound", world.take.pk),
            ("lessons:review", world.waiting.pk),
            ("lessons:round", world.answered.pk),
        ):
            answer = client.get(member.to(name, *args))
            if answer.streaming:
                list(answer.streaming_content)
    opened = {(row.by, row.thing, row.number) for row in told(happened=Happened.OPENED)}
    assert opened == {
        (teacher, "photo", photo.pk),
        (teacher, "take", world.take.pk),
        (teacher, "round", world.waiting.pk),
        (teacher, "round", world.answered.pk),
    }
    assert {row.whose for row in told(happened=Happened.OPENED)} == {student}


def test_sign_ins_are_told_to_each_studio_and_failed_ones_without_the_password(student, stranger, caplog):
    further = make.MemberFactory(studio=stranger.studio, person=student.person)
    student.person.set_password("right words here")
    student.person.save()
    former = make.MemberFactory(person=student.person, left_at=timezone.now())
    client = Client()
    for name, password in (
        (student.person.username, "wrong words"),
        ("nobody.at.all", "wrong words"),
        (student.person.username.upper(), "right words here"),
    ):
        client.post("/account/login/", {"login": name, "password": password})
    failed, came = told(happened=Happened.SIGN_IN_FAILED), told(happened=Happened.SIGNED_IN)
    assert {row.whose for row in failed} == {row.whose for row in came} == {student, further}
    assert {row.by for row in failed} == {None}
    assert former.studio not in {row.studio for row in told()}
    assert "no member of a studio" in caplog.text
    assert "wrong words" not in caplog.text
    assert "nobody.at.all" not in caplog.text


def test_a_teacher_sees_the_studios_others_what_is_about_them(teacher, student, other_student, stranger):
    note(Happened.CONSENT, by=teacher, whose=student)
    note(Happened.CONSENT, by=teacher, whose=other_student)
    seen = {who: JournalEntry.objects.visible_to(who).count() for who in (teacher, student, stranger)}
    assert seen == {teacher: 2, student: 1, stranger: 0}
