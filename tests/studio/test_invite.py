"""Inviting: the form, the page with the link, sending it, taking it back."""

from __future__ import annotations

import smtplib
from datetime import timedelta

import pytest
from django.core import mail
from django.utils import timezone

from studio.models import Invitation, Mailing, Role
from studio.tasks import mail_invitation
from tests import factories as make

GOOD = {"name": "Somebody New", "role": "student", "days": "14", "email": ""}


@pytest.fixture
def invitation(teacher):
    return make.InvitationFactory(invited_by=teacher, name="Somebody New", email="new@example.org")


# --- the form ---
def test_teacher_invites_and_gets_the_link(teacher, as_member):
    client = as_member(teacher)
    answer = client.post(teacher.to("invite"), {**GOOD, "under_age": "on", "days": "3"}, follow=True)
    made = Invitation.objects.get()
    assert (made.studio, made.invited_by, made.role, made.under_age) == (
        teacher.studio,
        teacher,
        Role.STUDENT,
        True,
    )
    assert timedelta(days=2.9) < made.expires_at - timezone.now() <= timedelta(days=3)
    assert answer.redirect_chain[0][0] == teacher.to("invitation", made.pk)
    assert "/join/" in answer.content.decode()


def test_teacher_invites_another_teacher(teacher, as_member):
    as_member(teacher).post(teacher.to("invite"), {**GOOD, "role": "teacher"})
    assert Invitation.objects.get().role == Role.TEACHER


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"name": ""}, "required"),
        ({"name": "   "}, "required"),
        ({"name": "x" * 81}, "at most 80"),
        ({"role": "owner"}, "Select a valid choice"),
        ({"role": ""}, "required"),
        ({"days": "0"}, "greater than or equal to 1"),
        ({"days": "91"}, "less than or equal to 90"),
        ({"days": "soon"}, "whole number"),
        ({"email": "no address"}, "valid email"),
        ({"role": "teacher", "under_age": "on"}, "Only a student"),
    ],
)
def test_bad_invitation_is_refused_and_what_was_typed_stays(teacher, as_member, change, words):
    answer = as_member(teacher).post(teacher.to("invite"), {**GOOD, "email": "kept@example.org", **change})
    assert answer.status_code == 422
    assert words in answer.content.decode()
    if "email" not in change:
        assert "kept@example.org" in answer.content.decode()
    assert not Invitation.objects.exists()


def test_name_pasted_with_line_breaks_becomes_one_line(teacher, as_member):
    as_member(teacher).post(teacher.to("invite"), {**GOOD, "name": "Some\r\nbody  New"})
    assert Invitation.objects.get().name == "Some body New"


@pytest.mark.parametrize("method", ["get", "post"])
def test_student_and_stranger_cannot_invite(teacher, student, stranger, as_member, method):
    for member in (student, stranger):
        answer = getattr(as_member(member), method)(teacher.to("invite"), GOOD)
        assert answer.status_code == 404
    assert not Invitation.objects.exists()


def test_invite_page_answers_no_other_method(teacher, as_member):
    assert as_member(teacher).delete(teacher.to("invite")).status_code == 405


# --- the page with the link ---
def test_link_page_has_the_link_to_select_and_as_a_qr_code_without_style(teacher, invitation, as_member):
    page = as_member(teacher).get(teacher.to("invitation", invitation.pk)).content.decode()
    assert "http://testserver/join/" in page
    assert "<svg" in page
    assert "style=" not in page


def test_link_page_of_a_used_invitation_shows_no_link(teacher, student, invitation, as_member):
    Invitation.objects.update(used_at=timezone.now(), used_by=student)
    page = as_member(teacher).get(teacher.to("invitation", invitation.pk)).content.decode()
    assert "/join/" not in page
    assert teacher.to("member", student.pk) in page


@pytest.mark.parametrize("name", ["invitation", "send_invitation", "revoke_invitation"])
def test_student_and_stranger_get_nothing_of_an_invitation(
    teacher, student, stranger, invitation, as_member, name
):
    method = "get" if name == "invitation" else "post"
    for member, where in ((student, student), (stranger, teacher), (stranger, stranger)):
        answer = getattr(as_member(member), method)(where.to(name, invitation.pk))
        assert answer.status_code == 404
    invitation.refresh_from_db()
    assert invitation.is_open
    assert not mail.outbox


@pytest.mark.parametrize("name", ["send_invitation", "revoke_invitation"])
def test_looking_does_not_send_or_take_back(teacher, invitation, as_member, name):
    assert as_member(teacher).get(teacher.to(name, invitation.pk)).status_code == 405


# --- by e-mail ---
def test_teacher_sends_the_link_by_email(
    teacher, invitation, as_member, django_capture_on_commit_callbacks, settings
):
    settings.SITE_ADDRESS = "https://reeds.example.org"
    with django_capture_on_commit_callbacks(execute=True):
        as_member(teacher).post(teacher.to("send_invitation", invitation.pk))
    (letter,) = mail.outbox
    assert letter.to == ["new@example.org"]
    assert str(teacher) in letter.subject
    link = next(line for line in letter.body.splitlines() if line.startswith("https://"))
    assert Invitation.objects.by_token(link.split("/join/")[1].strip("/")) == invitation
    invitation.refresh_from_db()
    assert invitation.mailing == Mailing.SENT


def test_letter_is_sent_once_though_the_task_runs_twice(invitation):
    Invitation.objects.update(mailing=Mailing.WAITING)
    mail_invitation.call(invitation.pk)
    mail_invitation.call(invitation.pk)
    assert len(mail.outbox) == 1


def test_nothing_is_sent_of_a_link_taken_back_meanwhile(invitation):
    Invitation.objects.update(mailing=Mailing.WAITING, revoked_at=timezone.now())
    mail_invitation.call(invitation.pk)
    assert not mail.outbox


def test_teacher_is_told_when_the_letter_could_not_be_sent(teacher, invitation, as_member, monkeypatch):
    def refuse(*_args, **_options):
        raise smtplib.SMTPServerDisconnected

    monkeypatch.setattr("studio.tasks.send_mail", refuse)
    Invitation.objects.update(mailing=Mailing.WAITING)
    mail_invitation.call(invitation.pk)
    page = as_member(teacher).get(teacher.to("invitation", invitation.pk)).content.decode()
    assert "could not be sent" in page


@pytest.mark.parametrize(
    ("change", "words"),
    [({"email": ""}, "no e-mail address"), ({"revoked_at": timezone.now()}, "taken back")],
)
def test_what_cannot_be_sent_is_said(teacher, invitation, as_member, change, words):
    Invitation.objects.update(**change)
    answer = as_member(teacher).post(teacher.to("send_invitation", invitation.pk), follow=True)
    assert words in answer.content.decode()
    assert not mail.outbox


# --- taking it back ---
def test_teacher_takes_a_link_back_and_it_no_longer_opens(teacher, invitation, as_member, client):
    as_member(teacher).post(teacher.to("revoke_invitation", invitation.pk))
    assert client.get(invitation.get_absolute_url()).status_code == 410


def test_used_invitation_is_not_taken_back(teacher, invitation, as_member):
    Invitation.objects.update(used_at=timezone.now())
    as_member(teacher).post(teacher.to("revoke_invitation", invitation.pk))
    invitation.refresh_from_db()
    assert invitation.revoked_at is None
