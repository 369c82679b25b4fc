"""Making a calendar's link and taking it back."""

from __future__ import annotations

import secrets

from django.utils import timezone

from lessons.calendar.models import CalendarLink, digest_of
from studio.models import Member

TOKEN_BYTES = 32


def make_link(member: Member) -> str:
    """Return a new token for this member's calendar, told this once; an earlier one ends with it."""
    token = secrets.token_urlsafe(TOKEN_BYTES)
    given = {"digest": digest_of(token), "made_at": timezone.now()}
    CalendarLink.objects.update_or_create(studio_id=member.studio_id, member=member, defaults=given)
    return token


def take_back(member: Member) -> None:
    """End the link; taking it back twice is the same as once."""
    CalendarLink.objects.filter(member=member).delete()
