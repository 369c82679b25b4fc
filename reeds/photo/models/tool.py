"""A length of a reed of one's own by photo and by caliper: what the tool does in this studio's hands."""

from __future__ import annotations

from typing import ClassVar, Self

from django.db import models
from django.utils import timezone

from reeds.numbers.measured import Measured
from reeds.photo.models.photo import Photo
from studio.access import StudioQuerySet, StudioRow
from studio.models import Member


class ToolReadingQuerySet(StudioQuerySet["ToolReading"]):
    def of_length(self, quantity: str) -> Self:
        """Return the readings of one length."""
        return self.filter(quantity=quantity)

    def pairs(self) -> list[tuple[Measured, Measured]]:
        """Return each as (by photo, by caliper), mm."""
        return [row.pair for row in self.order_by("pk")]


class ToolReading(StudioRow):
    """One length of one photo with what a caliper says of it; typed again, the newer stands."""

    owner_path = "photo__reed__owner"

    photo = models.ForeignKey(Photo, on_delete=models.CASCADE, related_name="tool_readings")
    quantity = models.CharField(max_length=40)
    seen_mm = models.FloatField()
    seen_u = models.FloatField()
    held_mm = models.FloatField()
    held_u = models.FloatField()
    by = models.ForeignKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now, editable=False)

    objects: ClassVar[ToolReadingQuerySet] = ToolReadingQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["photo", "quantity"], name="tool_reading_once_a_length"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} {self.seen_mm} / {self.held_mm}"

    @property
    def pair(self) -> tuple[Measured, Measured]:
        """By photo and by caliper, mm."""
        return Measured(self.seen_mm, self.seen_u), Measured(self.held_mm, self.held_u)
