"""When somebody's knife was sharpened last: a date on the box, no more."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from studio.access import StudioRow
from studio.keys import OneStudioKey
from studio.models import Member


class Knife(StudioRow):
    """The knife of one member."""

    owner_path = "owner"

    owner = OneStudioKey(Member, on_delete=models.CASCADE, related_name="knife")
    sharpened_on = models.DateField(_("last sharpened"))

    class Meta:
        constraints = [models.UniqueConstraint(fields=["studio", "owner"], name="knife_once_a_member")]

    def __str__(self) -> str:
        return f"{self.owner} {self.sharpened_on}"
