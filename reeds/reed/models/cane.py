"""Cane as it is bought: a lot with its grower's label, diameter and gouge."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from reeds.reed.models.brought_in import BroughtIn
from studio.access import StudioQuerySet, StudioRow
from studio.counting import how_many
from studio.keys import StudioKey
from studio.models import TEACHING_ROLES, Member

# so few pieces are said to be few: own choice, no source
FEW = 4


class CaneLotQuerySet(StudioQuerySet["CaneLot"]):
    def in_use(self) -> CaneLotQuerySet:
        """Return those that are not used up."""
        return self.filter(finished_on__isnull=True)

    def counted(self) -> CaneLotQuerySet:
        """Add how many reeds were made of each, those taken out left aside."""
        return self.annotate(reed_count=how_many(CaneLot, "reeds", reeds__taken_out_at=None))

    def for_reeds_of(self, owner: Member) -> CaneLotQuerySet:
        """Return the lots a reed of this member may be made of: their own, or a teacher's handed out."""
        return self.filter(Q(owner=owner) | Q(owner__role__in=TEACHING_ROLES), studio=owner.studio_id)


class CaneLot(BroughtIn, StudioRow):
    """Pieces of cane that came together."""

    owner_path = "owner"

    owner = StudioKey(Member, on_delete=models.CASCADE, related_name="cane_lots")
    label = models.CharField(_("label"), max_length=60, help_text=_("What the grower or the bag says."))
    tube_diameter = models.FloatField(_("tube diameter in mm"), null=True, blank=True)
    gouge = models.FloatField(_("gouge in mm"), null=True, blank=True)
    pieces = models.PositiveSmallIntegerField(_("pieces bought"), null=True, blank=True)
    lost = models.PositiveSmallIntegerField(_("pieces lost"), default=0)
    bought_on = models.DateField(_("bought on"), null=True, blank=True)
    finished_on = models.DateField(_("used up on"), null=True, blank=True)
    note = models.CharField(_("note"), max_length=200, blank=True)
    added_at = models.DateTimeField(default=timezone.now, editable=False)

    objects: ClassVar[CaneLotQuerySet] = CaneLotQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        ordering = ["-added_at"]

    def __str__(self) -> str:
        return self.label

    @property
    def left(self) -> int | None:
        """How many pieces are left, of a `counted` row; None where nobody said how many were bought."""
        made: int = self.reed_count  # type: ignore[attr-defined]  # annotated
        return None if self.pieces is None else self.pieces - self.lost - made

    @property
    def is_low(self) -> bool:
        """Whether it is time to think of the next bag."""
        return self.finished_on is None and self.left is not None and self.left <= FEW
