"""Letters, sent by the worker: load by id, write, send, note how it went."""

from __future__ import annotations

import smtplib

from django.conf import settings
from django.core.cache import cache
from django.core.mail import EmailMessage, send_mail
from django.template.loader import render_to_string
from django.utils.crypto import get_random_string
from django.utils.translation import gettext as _
from django_tasks import task

from studio.models import Invitation, Mailing
from studio.reading import written_for


@task(queue_name="mail")
def mail_invitation(invitation_id: int) -> None:
    """Send an invitation that waits to be sent; run twice, it is sent once."""
    waiting = Invitation.objects.open().filter(pk=invitation_id, mailing=Mailing.WAITING)
    invitation = waiting.select_related("studio", "invited_by__person").first()
    if invitation is None:
        return  # sent already, used or taken back meanwhile
    try:
        with written_for(invitation.invited_by.person):  # of whoever is to come nothing is known yet
            _write(invitation)
    except (smtplib.SMTPException, OSError):
        outcome = Mailing.FAILED
    else:
        outcome = Mailing.SENT
    Invitation.objects.filter(pk=invitation_id).update(mailing=outcome)


def _write(invitation: Invitation) -> None:
    words = {"invitation": invitation, "link": settings.SITE_ADDRESS + invitation.mailed_url}
    subject = _("%(teacher)s invites you to %(studio)s") % {
        "teacher": invitation.invited_by,
        "studio": invitation.studio,
    }
    text = render_to_string("studio/email/invitation.txt", words)
    send_mail(" ".join(subject.split()), text, None, [invitation.email])


def _given_up(invitation_id: int) -> None:
    waiting = Invitation.objects.filter(pk=invitation_id, mailing=Mailing.WAITING)
    waiting.update(mailing=Mailing.FAILED)


KEPT_S = 2 * 24 * 3600


def post(message: EmailMessage) -> None:
    """Have the worker send a message, again if the mail server does not answer.

    It may hold the link to a new password: until it is sent it lies in the cache, and what a task was given,
    which is kept for weeks and can be listed, is only where.
    """
    place = get_random_string(32)
    cache.set(_kept_at(place), (message.subject, message.body, message.from_email, message.to), KEPT_S)
    send_kept.enqueue(place)


@task(queue_name="mail")
def send_kept(place: str) -> None:
    """Send a message that was kept, unless it was sent before."""
    kept = cache.get(_kept_at(place))
    if kept is None:
        return
    EmailMessage(*kept).send()
    cache.delete(_kept_at(place))


def _kept_at(place: str) -> str:
    return f"mail-{place}"


def _forget(place: str) -> None:
    cache.delete(_kept_at(place))


GIVEN_UP = {"mail_invitation": _given_up, "send_kept": _forget}
