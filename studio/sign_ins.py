"""Sign-ins in the journal: of each studio somebody is in now, those that failed too, never what was typed."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from typing import Any

from allauth.mfa.signals import authentication_failed
from django.contrib.auth.signals import user_logged_in, user_login_failed
from django.db.models import Q
from django.dispatch import receiver

from studio.journal import Happened, note
from studio.models import Member, Person, studios_of

logger = logging.getLogger("studio.journal")


@receiver(user_logged_in)
def signed_in(user: Person, **_told: Any) -> None:  # noqa: ANN401  # a signal's
    """Note a sign-in, whatever the way."""
    for member in studios_of(user):
        note(Happened.SIGNED_IN, by=member, whose=member)


@receiver(user_login_failed)
def not_signed_in(credentials: Mapping[str, Any], **_told: Any) -> None:  # noqa: ANN401  # a signal's
    """Note that somebody could not sign in as a member; of a name nobody has, only the log says it."""
    tried = _members(str(credentials.get("username") or credentials.get("email") or ""))
    for member in tried:
        note(Happened.SIGN_IN_FAILED, whose=member)
    if not tried:
        logger.warning("a sign-in failed that is of no member of a studio")


@receiver(authentication_failed)
def not_by_a_second_step(user: Person | None, **_told: Any) -> None:  # noqa: ANN401  # a signal's
    """Note that a code or a passkey did not fit. A passkey alone that fits nobody is a line in the log."""
    if user is None:
        logger.warning("a passkey did not fit")
        return
    for member in studios_of(user):
        note(Happened.SIGN_IN_FAILED, whose=member, detail="second_step")


def _members(login: str) -> list[Member]:
    named = Q(person__username__iexact=login) | Q(person__email__iexact=login)
    return list(Member.objects.current().filter(named)) if login else []
