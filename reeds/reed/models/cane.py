"""Cane as it is bought: a lot with its grower's label, diameter and gouge."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from studio.access import StudioQuerySet, StudioRow
from studio.models import TEACHING_ROLES, Member


class CaneLotQuerySet(StudioQuerySet["CaneLot"]):
    def in_use(self) -> CaneLotQuerySet:
        """Return those that are not used up."""
        return self.filter(finished_on__isnull=True)

    def for_reeds_of(self, owner: Member) -> CaneLotQuerySet:
        """Return the lots a reed of this member may be made of: their own, or a teacher's handed out."""
        return self.filter(Q(owner=owner) | Q(owner__role__in=TEACHING_ROLES), studio=owner.studio_id)


class CaneLot(StudioRow):
    """Pieces of cane that came together."""

    owner_path = "owner"

    owner = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="cane_lots")
    label = models.CharField(_("label"), max_length=60, help_text=_("What the grower or the bag says."))
    tube_diameter = models.FloatField(_("tube diameter in mm"), null=True, blank=True)
    gouge = models.FloatField(_("gouge in mm"), null=True, blank=True)
    bought_on = models.DateField(_("bought on"), null=True, blank=True)
    finished_on = models.DateField(_("used up on"), null=True, blank=True)
    note = models.CharField(_("note"), max_length=200, blank=True)
    added_at = models.DateTimeField(default=timezone.now, editable=False)

    objects: ClassVar[CaneLotQuerySet] = CaneLotQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        ordering = ["-added_at"]

    def __str__(self) -> str:
        return self.label
