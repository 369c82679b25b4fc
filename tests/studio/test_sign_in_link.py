"""A password forgotten, no e-mail: the link that the teacher made."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.core import signing
from django.test import Client
from django.utils import timezone

from studio import actions
from studio.models import Invitation, Member, SignInLink
from tests import factories as make

NEW = {"password": "cane and thread and wax"}


@pytest.fixture
def made(teacher, student):
    return actions.make_sign_in_link(student, teacher)


@pytest.fixture
def link(made):
    return made.get_absolute_url()


def has_new_password(member):
    return Member.objects.get(pk=member.pk).person.check_password(NEW["password"])


def test_student_reads_their_user_name_chooses_a_password_and_is_in(client, student, link):
    assert student.person.username in client.get(link).content.decode()
    assert client.post(link, NEW).url == student.to("home")
    assert client.get(student.to("me")).status_code == 200
    assert has_new_password(student)


def test_whoever_knew_the_old_password_is_signed_out(student, link, as_member):
    old = as_member(student)
    assert old.get(student.to("me")).status_code == 200
    Client().post(link, NEW)
    assert old.get(student.to("me")).url.startswith("/account/login/")


def test_looking_at_the_link_does_not_use_it_up(client, made, link):
    client.get(link)
    client.get(link)
    made.refresh_from_db()
    assert made.is_open


@pytest.mark.parametrize(("password", "words"), [("", "required"), ("short", "too short")])
def test_weak_password_is_refused_and_the_link_stays(client, student, made, link, password, words):
    answer = client.post(link, {"password": password})
    assert answer.status_code == 422
    assert words in answer.content.decode()
    made.refresh_from_db()
    assert made.is_open


def test_link_works_once(student, link):
    assert Client().post(link, NEW).status_code == 302
    again = Client().post(link, {"password": "some other long password"})
    assert again.status_code == 410
    assert "used already" in again.content.decode()
    assert has_new_password(student)


def test_link_is_too_old_after_three_days(client, student, link):
    SignInLink.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
    for answer in (client.get(link), client.post(link, NEW)):
        assert answer.status_code == 410
        assert "too old" in answer.content.decode()
    assert not has_new_password(student)


def test_forged_link_is_not_found(client, student, made):
    for token in ("x", made.token + "x", signing.dumps(made.pk, salt=Invitation.salt)):
        assert client.post(f"/sign-in/{token}/", NEW).status_code == 404
    assert not has_new_password(student)


def test_link_no_longer_works_once_the_student_is_in_another_studio_too(client, student, stranger, link):
    """Else one teacher could walk into the other's studio with it."""
    make.student(studio=stranger.studio, person=student.person)
    answer = client.post(link, NEW)
    assert answer.status_code == 410
    assert not has_new_password(student)


def test_link_no_longer_works_once_the_student_has_left(client, student, teacher, link):
    actions.end_membership(student, teacher)
    assert client.post(link, NEW).status_code == 410
    assert not has_new_password(student)


def test_sign_in_link_answers_no_other_method(client, link):
    assert client.delete(link).status_code == 405
