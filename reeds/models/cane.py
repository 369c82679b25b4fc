"""Cane as it is bought: a lot with its grower's label, diameter and gouge."""

from __future__ import annotations

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from studio.access import StudioRow
from studio.models import Member


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

    class Meta:
        ordering = ["-added_at"]

    def __str__(self) -> str:
        return self.label
