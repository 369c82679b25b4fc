"""A length of a reed of one's own by photo and by caliper: what the tool does in this studio's hands."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar, Self

from django.db import models
from django.utils import timezone

from reeds.numbers.agreement import agreement
from reeds.numbers.measured import Measured
from reeds.photo.models.photo import Photo
from studio.access import StudioQuerySet, StudioRow
from studio.keys import StudioKey
from studio.models import Member

ENOUGH_PHOTOS = 3
# lengths that end at the same places as one that a caliper checked
ALIKE = {"tie_length": "overall_length"}


class ToolReadingQuerySet(StudioQuerySet["ToolReading"]):
    def of_length(self, quantity: str) -> Self:
        """Return the readings of one length."""
        return self.filter(quantity=quantity)

    def pairs(self) -> list[tuple[Measured, Measured]]:
        """Return each as (by photo, by caliper), mm."""
        return [row.pair for row in self.order_by("pk")]

    def widened(self, lengths: Mapping[str, Measured]) -> dict[str, Measured]:
        """Return lengths with no smaller doubt than these readings show of each, from three photos on.

        They only widen: where they agree better than is stated, or lie all to one side, that may be one
        phone's or one caliper's luck, so no doubt shrinks and no length is moved. Their own stated doubts are
        not asked, else what was widened once would soon count as right.
        """
        pairs: dict[str, list[tuple[Measured, Measured]]] = {}
        for row in self.order_by("pk"):
            pairs.setdefault(row.quantity, []).append(row.pair)
        least = {key: agreement(both).typical for key, both in pairs.items() if len(both) >= ENOUGH_PHOTOS}
        return {
            name: Measured(one.value, max(one.u, least.get(ALIKE.get(name, name), 0.0)))
            for name, one in lengths.items()
        }


class ToolReading(StudioRow):
    """One length of one photo with what a caliper says of it; typed again, the newer stands."""

    owner_path = "photo__reed__owner"

    photo = StudioKey(Photo, on_delete=models.CASCADE, related_name="tool_readings")
    quantity = models.CharField(max_length=40)
    seen_mm = models.FloatField()
    seen_u = models.FloatField()
    held_mm = models.FloatField()
    held_u = models.FloatField()
    by = StudioKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now, editable=False)

    objects: ClassVar[ToolReadingQuerySet] = ToolReadingQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["studio", "photo", "quantity"], name="tool_reading_once_a_length"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} {self.seen_mm} / {self.held_mm}"

    @property
    def pair(self) -> tuple[Measured, Measured]:
        """By photo and by caliper, mm."""
        return Measured(self.seen_mm, self.seen_u), Measured(self.held_mm, self.held_u)
