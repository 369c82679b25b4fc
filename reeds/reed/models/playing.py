"""A playing test: a short list of things to play, each rated by the player."""

from __future__ import annotations

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from reeds.numbers.words import Effort, Speaks
from reeds.reed.models.brought_in import BroughtIn
from reeds.reed.models.reed import Reed
from reeds.wording import choices_of
from studio.access import StudioRow
from studio.keys import StudioKey
from studio.models import Member


class PlayingTest(BroughtIn, StudioRow):
    """One sitting with one reed."""

    owner_path = "reed__owner"

    reed = StudioKey(Reed, on_delete=models.CASCADE, related_name="playing_tests")
    by = StudioKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)
    effort = models.PositiveSmallIntegerField(
        _("how hard it is to blow"), choices=choices_of(Effort), null=True, blank=True
    )

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d}"


class Rating(StudioRow):
    """How one item of the test spoke, and how hard it was to blow; either may be left out."""

    owner_path = "test__reed__owner"

    test = StudioKey(PlayingTest, on_delete=models.CASCADE, related_name="ratings")
    item = models.CharField(max_length=20)
    speaks = models.PositiveSmallIntegerField(choices=choices_of(Speaks), null=True, blank=True)
    effort = models.PositiveSmallIntegerField(choices=choices_of(Effort), null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["studio", "test", "item"], name="rating_once_an_item"),
            models.CheckConstraint(
                condition=models.Q(speaks__isnull=False) | models.Q(effort__isnull=False),
                name="rating_says_something",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item} {self.speaks or ''}".strip()
