"""Numbers taken of a reed; they are added and never changed."""

from __future__ import annotations

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from reeds.numbers.measured import Measured
from reeds.numbers.quantity import Quantity
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import Method, Moisture
from reeds.reed.models.brought_in import BroughtIn
from reeds.reed.models.reed import STAGE_CHOICES, Reed
from reeds.sheet.models.own import OwnQuantity
from reeds.wording import choices_of
from studio.access import StudioQuerySet, StudioRow
from studio.keys import StudioKey
from studio.models import Member


class MeasurementManager(models.Manager.from_queryset(StudioQuerySet)):  # type: ignore[misc]
    """Every reading comes with what it is a reading of."""

    def get_queryset(self) -> StudioQuerySet[Measurement]:
        rows: StudioQuerySet[Measurement] = super().get_queryset()
        return rows.select_related("own")


class Measurement(BroughtIn, StudioRow):
    """One reading: a number with its standard uncertainty, or a word where the quantity is one of words."""

    owner_path = "reed__owner"

    reed = StudioKey(Reed, on_delete=models.CASCADE, related_name="measurements")
    quantity = models.CharField(_("quantity"), max_length=40)
    value = models.FloatField(null=True, blank=True)
    u = models.FloatField(null=True, blank=True)
    word = models.CharField(max_length=20, blank=True)
    method = models.CharField(_("how measured"), max_length=10, choices=choices_of(Method))
    moisture = models.CharField(
        _("wet or dry"),
        max_length=8,
        choices=choices_of(Moisture),
        default=Moisture.UNKNOWN,
    )
    stage = models.CharField(max_length=12, choices=STAGE_CHOICES)
    by = StudioKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)
    entered_at = models.DateTimeField(default=timezone.now, editable=False)
    photo = StudioKey(
        "reeds.Photo", null=True, blank=True, on_delete=models.SET_NULL, related_name="measurements"
    )
    take = StudioKey(
        "reeds.Take", null=True, blank=True, on_delete=models.CASCADE, related_name="measurements"
    )
    # what the studio added itself; `quantity` is its key then
    own = StudioKey(
        OwnQuantity, null=True, blank=True, on_delete=models.RESTRICT, related_name="measurements"
    )
    computed_from = models.CharField(max_length=120, blank=True)
    key = models.UUIDField(
        default=uuid.uuid4, editable=False, help_text="Made by the page: a form sent twice counts once."
    )

    objects: ClassVar[StudioQuerySet[Measurement]] = MeasurementManager()  # type: ignore[assignment]

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(value__isnull=False, u__isnull=False, u__gte=0, word="")
                | Q(value__isnull=True, u__isnull=True) & ~Q(word=""),
                name="measurement_is_a_number_or_a_word",
            ),
            models.UniqueConstraint(
                fields=["studio", "reed", "quantity", "key"], name="measurement_once_a_key"
            ),
        ]
        indexes = [models.Index(fields=["studio", "quantity", "at"])]

    def __str__(self) -> str:
        return f"{self.quantity} {self.word or self.value}"

    @property
    def of(self) -> Quantity:
        """What it is a reading of."""
        return self.own.described if self.own else QUANTITIES[self.quantity]

    @property
    def measured(self) -> Measured | None:
        if self.value is None or self.u is None:
            return None
        return Measured(self.value, self.u)
