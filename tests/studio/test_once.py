"""A form sent once more, since its reply was lost: one thing, and the page of it; never an error."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import OperationalError
from django.utils import timezone

from lessons.answering.models import Phrase
from lessons.lesson.models import Lesson, SetWork
from reeds.photo.models.card import PrintedCard
from reeds.reed.models.cane import CaneLot
from reeds.sheet.models.own import OwnQuantity
from reeds.sheet.models.pattern import Pattern
from studio.models import Invitation, Term
from studio.once import KEPT, SentForm
from tests import factories as make
from tests.reeds.form import fields_of

CANE = {"label": "bag of May"}


@pytest.fixture
def own(teacher, as_member):
    return as_member(teacher)


def filled(client, path, action="", **typed):
    """What the page's own form would send, with its key."""
    fields = fields_of(client.get(path), action)
    assert len(fields["once"]) == 36
    return {name: value for name, value in fields.items() if value} | typed


def test_each_form_that_makes_something_makes_it_once(own, teacher, student):
    due = make.today() + timedelta(days=7)
    present = {"present": [student.pk]}
    for kind, name, typed in (
        (Lesson, "lessons:lesson_new", {"day": "2026-10-05", "time": "16:30", "notes": "x", **present}),
        (
            SetWork,
            "lessons:work_new",
            {"words": "Tie", "count": "3", "due_on": due, "students": [student.pk]},
        ),
        (Invitation, "invite", {"name": "Somebody", "role": "student", "days": "14"}),
        (Term, "new_term", {"name": "Autumn", "starts_on": "2026-10-01", "ends_on": "2026-12-20"}),
        (CaneLot, "reeds:cane_add", CANE),
        (Pattern, "reeds:pattern_new", {"name": "Another"}),
        (OwnQuantity, "reeds:own_seen", {"name": "colour", "labels": "light\ndark", "stage": "tied"}),
        (Phrase, "lessons:phrases", {"words": "Let it dry."}),
        (PrintedCard, "reeds:card", {}),
    ):
        path = teacher.to(name)
        given = filled(own, path, **typed)
        before = kind.objects.count()
        first, second = (own.post(path, given) for _try in range(2))
        assert (first.status_code, second.status_code) == (302, 302), name
        assert first.url == second.url, name
        assert own.get(second.url).status_code == 200, name
        assert kind.objects.count() == before + 1, name


def test_other_words_under_an_old_key_are_another_form(own, teacher):
    path = teacher.to("reeds:cane_add")
    given = filled(own, path, **CANE)
    own.post(path, given)
    own.post(path, {**given, "label": "bag of June"})
    assert CaneLot.objects.count() == 2


def test_what_was_refused_is_looked_at_anew(own, teacher):
    path = teacher.to("reeds:cane_add")
    refused = filled(own, path, label="")
    for _try in range(2):
        assert own.post(path, refused).status_code == 422
    assert not SentForm.objects.exists()


def test_a_key_of_another_is_no_key_of_mine(own, teacher, student, as_member):
    given = filled(own, teacher.to("reeds:cane_add"), **CANE)
    own.post(teacher.to("reeds:cane_add"), given)
    as_member(student).post(student.to("reeds:cane_add"), given)
    assert {lot.owner for lot in CaneLot.objects.all()} == {teacher, student}


def test_two_forms_of_one_kind_are_two(own, teacher):
    path = teacher.to("reeds:cane_add")
    for _form in range(2):
        own.post(path, filled(own, path, **CANE))
    assert CaneLot.objects.count() == 2


def test_what_fails_in_the_midst_is_not_taken_for_done(own, teacher, monkeypatch):
    path = teacher.to("reeds:cane_add")
    given = filled(own, path, **CANE)
    with monkeypatch.context() as full:
        full.setattr(CaneLot, "get_absolute_url", None, raising=False)
        full.setattr(
            CaneLot, "save", lambda *_given, **_more: (_ for _ in ()).throw(OperationalError("full"))
        )
        assert own.post(path, given).status_code == 503
    assert not SentForm.objects.exists()
    assert own.post(path, given).status_code == 302
    assert CaneLot.objects.count() == 1


def test_who_is_led_to_a_second_step_first_has_done_nothing_yet(own, teacher):
    path = teacher.to("reeds:cane_add")
    given = filled(own, path, **CANE)
    teacher.studio.teachers_second_step = True
    teacher.studio.save()
    assert own.post(path, given).url.startswith("/account/")
    teacher.studio.teachers_second_step = False
    teacher.studio.save()
    own.post(path, given)
    assert CaneLot.objects.count() == 1


def test_keys_are_forgotten_after_a_week(own, teacher):
    path = teacher.to("reeds:cane_add")
    own.post(path, filled(own, path, **CANE))
    SentForm.objects.update(at=timezone.now() - KEPT - timedelta(minutes=1))
    own.post(path, filled(own, path, **CANE))
    assert SentForm.objects.count() == 1


def test_a_link_for_a_new_password_made_twice_is_one_and_works(own, teacher, student, client):
    page = teacher.to("member", student.pk)
    path = teacher.to("make_sign_in_link", student.pk)
    given = filled(own, page, path)
    first, second = (own.post(path, given) for _try in range(2))
    assert first.url == second.url
    assert "/sign-in/" in own.get(second.url).content.decode()


def test_a_reed_given_up_twice_is_given_up_once(student, as_member):
    reed, client = make.ReedFactory(owner=student), as_member(student)
    path = student.to("reeds:give_up", reed.pk)
    given = filled(client, student.to("reeds:bench", reed.pk, "end"), path, **{"end-why": "It cracked."})
    answers = [client.post(path, given) for _try in range(2)]
    assert [answer.status_code for answer in answers] == [302, 302]
    assert reed.events.filter(kind="given_up").count() == 1
