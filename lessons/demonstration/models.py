"""A demonstration: a teacher's own photo or recording of a stage or a finding, with words, for the studio."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from typing import TYPE_CHECKING, ClassVar

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from reeds.checks.findings import Finding, spread
from reeds.photo.kept import KeptPhoto
from reeds.take.kept import KeptSound
from studio.access import StudioQuerySet, StudioRow
from studio.keys import StudioKey
from studio.models import Member

if TYPE_CHECKING:
    from django.db.models.fields.files import FieldFile


def subjects_of(finding: Finding) -> set[str]:
    """Return the subjects a finding is about, those told under it too."""
    told = spread([finding])
    keys = {key for one in told for key in (one.quantity, *one.also) if key}
    return {f"check:{one.check}" for one in told} | {f"quantity:{key}" for key in keys}


def subjects_beside(findings: Iterable[Finding], stage: str = "") -> set[str]:
    """Return the subjects of a round: what was found and asks for something, and its stage."""
    asking = [one for one in findings if one.needs_attention]
    return ({f"stage:{stage}"} if stage else set()).union(*map(subjects_of, asking))


class DemonstrationQuerySet(StudioQuerySet["Demonstration"]):
    def shown(self) -> DemonstrationQuerySet:
        """Return those that were not put away."""
        return self.filter(put_away_at__isnull=True)

    def beside(self, findings: Iterable[Finding], stage: str = "") -> DemonstrationQuerySet:
        """Return those shown that are about what was found and asks for something, or about the stage."""
        return self.shown().filter(about__in=subjects_beside(findings, stage))


class Demonstration(KeptPhoto, KeptSound, StudioRow):
    """One photo or recording, or both, with words. Everybody of the studio sees it, teachers write it."""

    folder = "demonstrations"
    longest_s = 120.0

    title = models.CharField(_("what it shows"), max_length=120)
    words = models.TextField(_("your words"), max_length=2000)
    about = models.CharField(_("beside"), max_length=60, blank=True)
    made_by = StudioKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    key = models.UUIDField(default=uuid.uuid4, editable=False)
    made_at = models.DateTimeField(default=timezone.now, editable=False)
    put_away_at = models.DateTimeField(null=True, editable=False)
    erased_at = models.DateTimeField(null=True, editable=False)

    objects: ClassVar[DemonstrationQuerySet] = DemonstrationQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        ordering = ["title", "pk"]
        constraints = [models.UniqueConstraint(fields=["studio", "key"], name="demonstration_once_a_key")]

    def __str__(self) -> str:
        return self.title

    @property
    def is_waiting(self) -> bool:
        return self.photo_is_waiting or self.sound_is_waiting

    @property
    def files(self) -> list[FieldFile]:
        return [*self.photo_files, *self.sound_files]
