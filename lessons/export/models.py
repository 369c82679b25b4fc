"""An export: what was asked for, how far the worker is with it, and where its file lies."""

from __future__ import annotations

import datetime as dt
import uuid
from dataclasses import dataclass
from typing import ClassVar, Self

from django.db import models
from django.db.models import Exists, OuterRef, Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from studio.access import Seer, StudioQuerySet, StudioRow
from studio.consented import hidden
from studio.files import delete_after_commit
from studio.keys import OneStudioKey, StudioKey
from studio.models import Member, Term

# so long a file is kept to be fetched; own choice
KEPT = dt.timedelta(days=3)
# after so long nobody makes it any more: a worker gives a task up after three times a quarter of an hour
LONGEST = dt.timedelta(hours=1)


@dataclass(frozen=True)
class Wanted:
    """What an export is to hold: of one student or of all that the asking member sees, one term or all."""

    student: Member | None = None
    term: Term | None = None
    with_pictures: bool = True


class ExportState(models.TextChoices):
    """Where the server is with it."""

    MAKING = "making", _("being made")
    READY = "ready", _("ready")
    FAILED = "failed", _("not made")


def export_path(export: Export, _filename: str) -> str:
    """Return a path that tells nothing about the person."""
    return f"exports/{export.studio_id}/{uuid.uuid4().hex}.zip"


class ExportQuerySet(StudioQuerySet["Export"]):
    def visible_to(self, member: Seer) -> Self:
        """Return this member's own, made for what they are now: who taught once has a teacher's no more."""
        rows = self.filter(studio=member.studio_id, member=member.pk, by_teacher=member.leads)
        return rows.exclude(self._of_hidden(), with_pictures=True)

    @staticmethod
    def _of_hidden() -> Q:
        """Whether it may hold photos or recordings that were hidden after it was asked for."""
        away = Member.objects.filter(hidden(), studio=OuterRef("studio"))
        since = away.filter(guardian_consent_withdrawn_at__gte=OuterRef("asked_at"))
        of_all = Q(Exists(since), by_teacher=True, student__isnull=True)
        one = Exists(since.filter(pk=OuterRef("student"))) | Exists(since.filter(pk=OuterRef("member")))
        return of_all | Q(one)

    def with_pictures_of(self, member: Member) -> ExportQuerySet:
        """Return those that hold somebody's photos and recordings, those that are being made too."""
        theirs = Q(member=member) | Q(student=member) | Q(by_teacher=True, student__isnull=True)
        return self.filter(theirs, studio=member.studio_id, with_pictures=True)

    def let_go(self) -> None:
        """Delete them; their files go once it holds."""
        delete_after_commit([row.file for row in self])
        self.delete()

    def spent(self, now: dt.datetime) -> ExportQuerySet:
        """Return those that were kept long enough."""
        return self.filter(asked_at__lt=now - KEPT)


class Export(StudioRow):
    """What one member asked for last: a new one takes its place."""

    owner_path = "member"

    member = OneStudioKey(Member, on_delete=models.CASCADE, related_name="+")
    by_teacher = models.BooleanField(editable=False)
    student = StudioKey(Member, null=True, on_delete=models.CASCADE, related_name="+")
    term = StudioKey(Term, null=True, on_delete=models.CASCADE, related_name="+")
    with_pictures = models.BooleanField(default=True)
    state = models.CharField(max_length=8, choices=ExportState.choices, default=ExportState.MAKING)
    refusal = models.CharField(max_length=300, blank=True)
    file = models.FileField(upload_to=export_path, blank=True)
    size_bytes = models.PositiveBigIntegerField(null=True)
    asked_at = models.DateTimeField(default=timezone.now, editable=False)

    objects: ClassVar[ExportQuerySet] = ExportQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        constraints = [models.UniqueConstraint(fields=["studio", "member"], name="export_once_a_member")]

    def __str__(self) -> str:
        return f"{self.member} {self.asked_at:%Y-%m-%d}"

    @property
    def is_making(self) -> bool:
        return self.state == ExportState.MAKING and not self.is_given_up

    @property
    def is_given_up(self) -> bool:
        """Whether it was to be made so long ago that it will not be any more."""
        return self.state == ExportState.MAKING and timezone.now() - self.asked_at > LONGEST

    @property
    def is_ready(self) -> bool:
        return self.state == ExportState.READY

    @property
    def kept_until(self) -> dt.datetime:
        return self.asked_at + KEPT
