"""The secret link under which a member's calendar can be read without signing in."""

from __future__ import annotations

import hashlib
from typing import ClassVar, Self

from django.db import models
from django.utils import timezone

from studio.access import Seer, StudioQuerySet, StudioRow
from studio.keys import OneStudioKey
from studio.models import Member


def digest_of(token: str) -> str:
    """Return what is kept of a token: who reads the database cannot read anybody's calendar with it.

    Without salt and at once, since a token is 256 random bits and not a word somebody chose.
    """
    return hashlib.sha256(token.encode()).hexdigest()


class CalendarLinkQuerySet(StudioQuerySet["CalendarLink"]):
    def visible_to(self, member: Seer) -> Self:
        """Return this member's own: a calendar is nobody else's, whoever teaches."""
        return self.filter(studio=member.studio_id, member=member.pk)


class CalendarLink(StudioRow):
    """One member's link. Taking it back deletes the row, a new one takes the old one's place."""

    owner_path = "member"

    member = OneStudioKey(Member, on_delete=models.CASCADE, related_name="+")
    digest = models.CharField(max_length=64, unique=True, editable=False)
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    objects: ClassVar[CalendarLinkQuerySet] = CalendarLinkQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        constraints = [models.UniqueConstraint(fields=["studio", "member"], name="calendar_once_a_member")]

    def __str__(self) -> str:
        return str(self.member)


def member_of(token: str) -> Member | None:
    """Return whose calendar a token opens; None for one that was never made or was taken back.

    Nor does it open anything for somebody who has left the studio or may no longer sign in.
    """
    rows = CalendarLink.objects.filter(digest=digest_of(token), member__left_at__isnull=True)
    row = rows.filter(member__person__is_active=True).select_related("member__studio").first()
    return row.member if row else None
