"""What is done about a guardian and their children: the ties, the consent to photos and recordings.

A consent taken back hides what was sent at once (`Consented.hidden_since`, asked wherever a file goes out).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from django.db import transaction
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from studio.consented import HIDDEN_FOR, hidden
from studio.erasing import erase_pictures
from studio.errors import NotPossible
from studio.journal import Happened, note
from studio.models import Member


@transaction.atomic
def tie(guardian: Member, by: Member, children: Iterable[Member]) -> None:
    """Say whose guardian somebody is, and whose no longer."""
    if not guardian.is_guardian:
        raise NotPossible(_("Only a guardian has children here."))
    guardian.children.set(children)
    note(Happened.ROLE, by=by, whose=guardian, detail="children")


@transaction.atomic
def note_consent(child: Member, by: Member, guardian: str, given_on: dt.date) -> None:
    """Note who consented for an under-age member, and when; photos and takes are allowed from now on.

    Where a guardian has a sign-in of their own, nobody notes it for them.
    """
    if given_on > timezone.localdate():
        raise NotPossible(_("A consent cannot be dated in the future."))
    if child.signed_in_guardians.exists():
        raise NotPossible(_("The guardian signs in here: only they give the consent, by their own hand."))
    _give(child, by, guardian, given_on)


def give_consent(child: Member, by: Member) -> str:
    """Consent by a guardian's own hand, today; what was hidden and is not erased yet is shown again.

    Returns what came of it, in words.
    """
    _check_is_child(child, by)
    if not child.has_consent:  # a double tap keeps the first day
        _give(child, by, str(by), timezone.localdate())
    return _("You consented: photos and recordings may be sent and seen from now on.")


def _check_is_child(child: Member, by: Member) -> None:
    if not by.wards.filter(pk=child.pk).exists():
        raise NotPossible(_("Only a guardian of this student can do that."))


@transaction.atomic
def _give(child: Member, by: Member, guardian: str, given_on: dt.date) -> None:
    child.guardian_name, child.guardian_consent_on = guardian, given_on
    child.guardian_consent_noted_by, child.guardian_consent_withdrawn_at = by, None
    child.pictures_erased_at = None
    child.save(
        update_fields=[
            "guardian_name",
            "guardian_consent_on",
            "guardian_consent_noted_by",
            "guardian_consent_withdrawn_at",
            "pictures_erased_at",
        ]
    )
    note(Happened.CONSENT, by=by, whose=child)


@transaction.atomic
def withdraw_consent(child: Member, by: Member, *, at_once: bool = False) -> str:
    """Take the consent back: no photo or take can be sent, and nobody sees those that were, from now on.

    `at_once` erases them too. Only a guardian of the child or a teacher does it; twice is the same as once.
    Returns what came of it, in words.
    """
    if not by.leads:
        _check_is_child(child, by)
    standing = Member.objects.filter(pk=child.pk, guardian_consent_on__isnull=False)
    standing = standing.filter(guardian_consent_withdrawn_at__isnull=True)
    if standing.update(guardian_consent_withdrawn_at=timezone.now()):
        note(Happened.CONSENT_WITHDRAWN, by=by, whose=child)
    child.refresh_from_db()
    if child.hidden_since is None:
        return _("There is no consent that could be taken back.")
    if at_once:
        return erase_hidden(child, by)
    day = date_format(timezone.localtime(child.hidden_since + HIDDEN_FOR))
    return _(
        "The consent is taken back. Photos and recordings are hidden from everybody and are erased on "
        "%(day)s; none can be sent."
    ) % {"day": day}


@transaction.atomic
def erase_hidden(child: Member, by: Member | None) -> str:
    """Erase the photos and takes of whose consent was taken back; the worker does it (`by` None) in time."""
    if child.hidden_since is None:
        raise NotPossible(_("Only what is hidden is erased: the consent stands."))
    if child.pictures_erased_at is None:
        erase_pictures(child, by)
        child.pictures_erased_at = timezone.now()
        child.save(update_fields=["pictures_erased_at"])
    return _("The consent is taken back, photos and recordings are erased. Numbers and counts stay.")


def erase_overdue(a_day_ago: dt.datetime) -> int:
    """Erase what has been hidden for so long; return how many students'. The sweep counts from a day ago."""
    hidden_until = a_day_ago + dt.timedelta(days=1) - HIDDEN_FOR
    rows = Member.objects.filter(hidden(), pictures_erased_at__isnull=True)
    due = list(rows.filter(guardian_consent_withdrawn_at__lte=hidden_until))
    for child in due:
        erase_hidden(child, by=None)
    return len(due)
