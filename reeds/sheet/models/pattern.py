"""A studio's measuring sheets, in versions that never change, and what one instrument wants of them."""

from __future__ import annotations

from functools import cached_property
from typing import ClassVar

from django.db import models
from django.db.models import OuterRef, QuerySet, Subquery
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from reeds.checks.sheet import Sheet
from reeds.numbers.quantity import Known
from reeds.numbers.words import Style
from reeds.sheet.models.own import known_to
from reeds.sheet.playing_items import PlayingItem, from_json
from reeds.wording import choices_of
from studio.access import Seer, StudioQuerySet, StudioRow
from studio.counting import how_many
from studio.keys import StudioKey
from studio.models import Member
from studio.prepared import anybody_of, prepared


class PatternQuerySet(StudioQuerySet["Pattern"]):
    def in_use(self) -> PatternQuerySet:
        """Return those that a new reed may take."""
        return self.filter(put_away_at__isnull=True)

    def with_counts(self) -> PatternQuerySet:
        """Add the number and time of the current version, and how many reeds follow any version."""
        newest = PatternVersion.objects.filter(pattern=OuterRef("pk")).order_by("-number")
        return self.annotate(
            current_number=Subquery(newest.values("number")[:1]),
            changed_at=Subquery(newest.values("made_at")[:1]),
            reed_count=how_many(Pattern, "versions__reeds", versions__reeds__taken_out_at=None),
        )


class Pattern(StudioRow):
    """One way of making a reed."""

    name = models.CharField(_("name"), max_length=60)
    style = models.CharField(_("scrape"), max_length=8, choices=choices_of(Style))
    put_away_at = models.DateTimeField(null=True, blank=True, editable=False)

    objects: ClassVar[PatternQuerySet] = PatternQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        ordering = ["name", "pk"]
        constraints = [models.UniqueConstraint(fields=["studio", "name"], name="pattern_name_once_a_studio")]

    def __str__(self) -> str:
        return self.name

    @property
    def current(self) -> PatternVersion:
        """The newest version; every pattern is made with its first."""
        return self.versions.latest("number")


class PatternVersionQuerySet(StudioQuerySet["PatternVersion"]):
    def current(self) -> PatternVersionQuerySet:
        """Return the newest version of each pattern in use."""
        newest = PatternVersion.objects.filter(pattern=OuterRef("pattern")).order_by("-number")
        return self.filter(pattern__put_away_at__isnull=True, pk=Subquery(newest.values("pk")[:1]))


class PatternVersion(StudioRow):
    """A measuring sheet as it stood from one day on. Rows are added, never changed."""

    pattern = StudioKey(Pattern, on_delete=models.CASCADE, related_name="versions")
    number = models.PositiveSmallIntegerField()
    data = models.JSONField()
    playing = models.JSONField(default=list)
    why = models.CharField(_("what changed"), max_length=200, blank=True)
    made_by = StudioKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    objects: ClassVar[PatternVersionQuerySet] = PatternVersionQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        ordering = ["pattern", "-number"]
        constraints = [
            models.UniqueConstraint(
                fields=["studio", "pattern", "number"], name="version_number_once_a_pattern"
            )
        ]

    def __str__(self) -> str:
        return f"{self.pattern} {self.number}"

    @cached_property
    def test(self) -> tuple[PlayingItem, ...]:
        """The playing test of this version, in order."""
        return from_json(self.playing)

    @cached_property
    def sheet(self) -> Sheet:
        """The sheet, with what its studio knows: the registry and the studio's own."""
        return self.sheet_in(known_to(anybody_of(self.studio_id)))

    def sheet_in(self, known: Known) -> Sheet:
        """Return the sheet where what the studio knows is at hand: for many versions at once."""
        return Sheet.from_json(self.data, known)


class OffsetQuerySet(StudioQuerySet["Offset"]):
    def of(self, student: Member) -> dict[str, float]:
        """Return this student's offsets in mm (or the quantity's unit), by quantity."""
        return dict(_offsets(student))


class Offset(StudioRow):
    """What one student's instrument wants beside the sheet: this player's reeds are tied 1 mm longer."""

    owner_path = "student"

    student = StudioKey(Member, on_delete=models.CASCADE, related_name="offsets")
    quantity = models.CharField(_("quantity"), max_length=40)
    delta = models.FloatField(_("more or less than the sheet"))
    why = models.CharField(_("why"), max_length=200, blank=True)
    set_by = StudioKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    set_at = models.DateTimeField(default=timezone.now, editable=False)

    objects: ClassVar[OffsetQuerySet] = OffsetQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["studio", "student", "quantity"], name="offset_once_a_quantity")
        ]

    def __str__(self) -> str:
        return f"{self.quantity} {self.delta:+g}"


@prepared
def _offsets(student: Seer) -> QuerySet[Offset, tuple[str, float]]:
    return Offset.objects.filter(student=student.pk).values_list("quantity", "delta")
