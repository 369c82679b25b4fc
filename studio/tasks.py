"""Letters, sent by the worker: load by id, write, send, note how it went."""

from __future__ import annotations

import smtplib

from django.core.mail import send_mail
from django.template.loader import render_to_string
from django.utils.translation import gettext as _
from django_tasks import task

from studio.links import address
from studio.models import Invitation, Mailing


@task()
def mail_invitation(invitation_id: int) -> None:
    """Send an invitation that waits to be sent; run twice, it is sent once."""
    waiting = Invitation.objects.open().filter(pk=invitation_id, mailing=Mailing.WAITING)
    invitation = waiting.select_related("studio", "invited_by__person").first()
    if invitation is None:
        return  # sent already, used or taken back meanwhile
    try:
        _write(invitation)
    except (smtplib.SMTPException, OSError):
        outcome = Mailing.FAILED
    else:
        outcome = Mailing.SENT
    Invitation.objects.filter(pk=invitation_id).update(mailing=outcome)


def _write(invitation: Invitation) -> None:
    words = {"invitation": invitation, "link": address(invitation)}
    subject = _("%(teacher)s invites you to %(studio)s") % {
        "teacher": invitation.invited_by,
        "studio": invitation.studio,
    }
    text = render_to_string("studio/email/invitation.txt", words)
    send_mail(" ".join(subject.split()), text, None, [invitation.email])


def _given_up(invitation_id: int) -> None:
    waiting = Invitation.objects.filter(pk=invitation_id, mailing=Mailing.WAITING)
    waiting.update(mailing=Mailing.FAILED)


GIVEN_UP = {"mail_invitation": _given_up}
