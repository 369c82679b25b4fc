"""A printed card: its own number, and what its 100 mm bar really measures."""

from __future__ import annotations

from typing import ClassVar, Self

from django.db import models
from django.db.models import Max, Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from reeds.numbers.measured import Measured
from reeds.numbers.words import Method
from reeds.photo.vision.lengths import UNMEASURED_PRINT
from studio.access import Seer, StudioQuerySet, StudioRow
from studio.keys import StudioKey
from studio.models import TEACHING_ROLES, Member

BAR_MM = 100.0
BAR_METHODS = (Method.CALIPER, Method.RULER)


class PrintedCardQuerySet(StudioQuerySet["PrintedCard"]):
    def visible_to(self, member: Seer) -> Self:
        """Return the cards this member may see: a student their own and those a teacher printed."""
        rows = self.filter(studio=member.studio_id)
        if member.teaches:
            return rows
        return rows.filter(Q(owner=member.pk) | Q(owner__role__in=TEACHING_ROLES))

    def next_number(self, studio_id: int) -> int:
        """Return the first number that no card of the studio has."""
        highest = self.filter(studio=studio_id).aggregate(highest=Max("number"))["highest"]
        return (highest or 0) + 1


class PrintedCard(StudioRow):
    """One card as it came out of one printer."""

    owner = StudioKey(Member, on_delete=models.CASCADE, related_name="cards")
    number = models.PositiveIntegerField(_("card number"))
    bar_mm = models.FloatField(_("the bar, in mm"), null=True, blank=True)
    bar_method = models.CharField(max_length=10, blank=True)
    bar_u = models.FloatField(null=True, blank=True, help_text=_("Of the reading, mm, as it was when noted."))
    noted_by = StudioKey(Member, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    noted_at = models.DateTimeField(null=True, blank=True, editable=False)
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    objects: ClassVar[PrintedCardQuerySet] = PrintedCardQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        ordering = ["number"]
        constraints = [models.UniqueConstraint(fields=["studio", "number"], name="card_number_once_a_studio")]

    def __str__(self) -> str:
        return str(self.number)

    @property
    def factor(self) -> Measured:
        """True over nominal length of this print, with its doubt."""
        if self.bar_mm is None:
            return UNMEASURED_PRINT
        u = self.bar_u if self.bar_u is not None else Method(self.bar_method).u_mm or 0.0
        return Measured(self.bar_mm / BAR_MM, u / BAR_MM)

    def may_be_noted_by(self, member: Member) -> bool:
        """Whether this member may note the bar: who printed it, a teacher, or the first to measure it."""
        return member.teaches or self.owner_id == member.pk or self.bar_mm is None
