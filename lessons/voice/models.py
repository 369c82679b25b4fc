"""A teacher's voice: a note of up to two minutes that goes along with an answer."""

from __future__ import annotations

import uuid
from typing import ClassVar, Self

from django.db import models
from django.db.models import Q
from django.db.models.fields.files import FieldFile
from django.utils import timezone

from reeds.take.kept import KeptSound
from studio.access import Seer, StudioQuerySet, StudioRow
from studio.keys import StudioKey
from studio.models import Member


class VoiceQuerySet(StudioQuerySet["Voice"]):
    def visible_to(self, member: Seer) -> Self:
        """Return the notes this member may hear: one's own, and those of answers that were sent to them.

        Teachers hear all that were sent; of a reed that was taken out nobody hears anything but who spoke. A
        consent that was taken back hides no note: the voice is the teacher's. It goes when the pictures do.
        """
        sent = Q(answers__sent_at__isnull=False, answers__submission__reed__taken_out_at__isnull=True)
        if not member.teaches:
            sent &= Q(answers__submission__student__in=member.sees_rows_of)
            return self.filter(sent, studio=member.studio_id).distinct()
        return self.filter(sent | Q(by=member.pk), studio=member.studio_id).distinct()


class Voice(KeptSound, StudioRow):
    """One note. Answers that were sent together share it."""

    owner_path = "answers__submission__student"
    folder = "voices"
    longest_s = 120.0

    by = StudioKey(Member, on_delete=models.CASCADE, related_name="+")
    key = models.UUIDField(default=uuid.uuid4)
    at = models.DateTimeField(default=timezone.now, editable=False)

    objects: ClassVar[VoiceQuerySet] = VoiceQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        constraints = [models.UniqueConstraint(fields=["studio", "by", "key"], name="voice_once_a_key")]

    @property
    def files(self) -> list[FieldFile]:
        return self.sound_files

    def __str__(self) -> str:
        return f"{self.by} {self.at:%Y-%m-%d}"
