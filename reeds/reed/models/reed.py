"""A reed and the events of its life."""

from __future__ import annotations

import datetime as dt
import uuid
from typing import ClassVar, Self

from django.db import models
from django.db.models import F, Max, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from reeds.checks.experiments import Blade, Side, Strokes, Zone
from reeds.numbers.measured import Measured
from reeds.numbers.words import Flexibility, Stage
from reeds.reed.models.brought_in import BroughtIn
from reeds.reed.models.cane import CaneLot
from reeds.wording import choices_of
from studio.access import Seer, StudioQuerySet, StudioRow
from studio.consented import hidden
from studio.keys import StudioKey
from studio.models import NAMING, Member

STAGE_CHOICES = choices_of(Stage)
FLEXIBILITY_CHOICES = choices_of(Flexibility)
AT_REST = [stage for stage in Stage if stage.is_blank]


class ReedQuerySet(StudioQuerySet["Reed"]):
    def visible_to(self, member: Seer) -> Self:
        """Return the reeds this member may see; one that was taken out is seen by nobody."""
        return super().visible_to(member).filter(taken_out_at__isnull=True)

    def at_rest(self) -> ReedQuerySet:
        """Return the blanks: tied or bound and not yet scraped, longest rest first.

        A rest counts from tying on, so each carries `rests_since`: its last step where tying was not noted.
        """
        tied = ReedEvent.objects.standing().filter(reed=OuterRef("pk"), to_stage=Stage.TIED)
        since = Coalesce(Subquery(tied.order_by("-at").values("at")[:1]), "stage_since")
        return self.filter(stage__in=AT_REST).annotate(rests_since=since).order_by("rests_since", "number")

    def listed(self) -> ReedQuerySet:
        """Return them with what a line of a list says of each; `pattern` is the name of its sheet."""
        whose = [f"owner__{name}" for name in NAMING]
        rows = self.select_related("owner__person").annotate(pattern=F("version__pattern__name"))
        return rows.only("number", "stage", "made_at", "is_model", *whose)

    def newest_photos(self) -> QuerySet[Reed, tuple[int, int]]:
        """Return the key of each reed and that of its newest photo that can be shown."""
        # what waits, was refused, taken back or erased has no thumbnail
        there = Q(photos__thumbnail__gt="", photos__taken_back_at__isnull=True)
        rows = self.filter(there).exclude(hidden("owner")).order_by()
        return rows.values_list("pk").annotate(newest=Max("photos__pk"))

    def next_number(self, owner: Member) -> int:
        """Return the first number this student never used, reeds taken out included."""
        highest = Reed.objects.filter(owner=owner).aggregate(highest=Max("number"))["highest"]
        return (highest or 0) + 1


class Reed(BroughtIn, StudioRow):
    """One reed, from the piece of cane to the day it is played out or given up."""

    owner_path = "owner"

    owner = StudioKey(Member, on_delete=models.CASCADE, related_name="reeds")
    number = models.PositiveIntegerField(_("number"))
    version = StudioKey("reeds.PatternVersion", on_delete=models.PROTECT, related_name="reeds")
    cane = StudioKey(CaneLot, null=True, blank=True, on_delete=models.SET_NULL, related_name="reeds")
    shape = models.CharField(_("shape"), max_length=40, blank=True)
    staple = models.CharField(_("staple"), max_length=40, blank=True)
    staple_length = models.FloatField(_("staple length in mm"), null=True, blank=True)
    flexibility = models.CharField(
        _("wet cane feels"), max_length=10, choices=FLEXIBILITY_CHOICES, default=Flexibility.UNKNOWN
    )
    stage = models.CharField(_("stage"), max_length=12, choices=STAGE_CHOICES, default=Stage.CANE)
    stage_since = models.DateTimeField(default=timezone.now)
    made_at = models.DateTimeField(default=timezone.now)
    is_reference = models.BooleanField(_("the good reed to compare recordings with"), default=False)
    is_model = models.BooleanField(_("a model to compare with"), default=False)
    batch = models.UUIDField(
        default=uuid.uuid4, editable=False, help_text="Made by the page: a form sent twice makes once."
    )
    taken_out_at = models.DateTimeField(null=True, editable=False)
    # what `with_thumbs` gives it
    thumb: int | None = None

    objects: ClassVar[ReedQuerySet] = ReedQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        ordering = ["owner", "-number"]
        constraints = [
            models.UniqueConstraint(
                fields=["studio", "owner"],
                condition=models.Q(is_reference=True),
                name="one_reference_reed_a_student",
            ),
            models.UniqueConstraint(fields=["studio", "owner", "number"], name="reed_number_once_a_student"),
        ]
        indexes = [
            models.Index(fields=["studio", "stage"]),
            models.Index(fields=["studio", "made_at"]),
            models.Index(fields=["studio", "owner", "made_at"]),
            models.Index(fields=["owner", "batch"]),
        ]

    def __str__(self) -> str:
        return str(self.number)

    @property
    def is_blank(self) -> bool:
        return self.stage in AT_REST

    @property
    def is_in_hand(self) -> bool:
        """Whether the knife may still be at it: scraped, and neither played out nor given up."""
        return Stage(self.stage).is_scraped

    @property
    def is_played(self) -> bool:
        """Whether it is far enough to be played."""
        return Stage(self.stage).is_played

    @property
    def resting_since(self) -> dt.datetime:
        """When it was tied, of a blank taken by `at_rest`; else when its last step was taken."""
        since: dt.datetime = getattr(self, "rests_since", self.stage_since)
        return since

    @property
    def rested(self) -> dt.timedelta:
        """Time since then."""
        return timezone.now() - self.resting_since


class EventKind(models.TextChoices):
    """What can happen to a reed."""

    MADE = "made", _("made")
    STAGE = "stage", _("next step")
    BACK = "back", _("gone back")
    CLIP = "clip", _("clipped")
    SCRAPE = "scrape", _("scraped a little")
    GIVEN_UP = "given_up", _("given up")
    PATTERN = "pattern", _("moved to another measuring sheet")
    PLAYED = "played", _("played")
    SOFT = "soft", _("went soft")
    AWAY = "away", _("put away")
    FEEL = "feel", _("wet cane felt")
    NOTE = "note", _("note")


# what takes something off a reed
CUTS = (EventKind.SCRAPE, EventKind.CLIP)


class ReedEventQuerySet(StudioQuerySet["ReedEvent"]):
    def standing(self) -> ReedEventQuerySet:
        """Return what holds: a slip of the finger that was taken back is still a row, but counts no more."""
        return self.filter(taken_back_at__isnull=True)

    def last_cut(self) -> dt.datetime | None:
        """Return when something was scraped or clipped off last: what was heard before is of another reed."""
        rows = self.standing().filter(kind__in=CUTS).order_by("-at")
        return rows.values_list("at", flat=True).first()


class ReedEvent(BroughtIn, StudioRow):
    """One thing that happened to a reed. Rows are added and never changed; a slip is marked as taken back."""

    owner_path = "reed__owner"

    reed = StudioKey(Reed, on_delete=models.CASCADE, related_name="events")
    kind = models.CharField(max_length=10, choices=EventKind.choices)
    at = models.DateTimeField(default=timezone.now)
    by = StudioKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    from_stage = models.CharField(max_length=12, choices=STAGE_CHOICES, blank=True)
    to_stage = models.CharField(max_length=12, choices=STAGE_CHOICES, blank=True)
    clip_mm = models.FloatField(_("clipped, in mm"), null=True, blank=True)
    clip_u = models.FloatField(null=True, blank=True)
    strokes = models.PositiveSmallIntegerField(_("strokes on each place"), null=True, blank=True)
    side = models.CharField(_("side"), max_length=8, choices=choices_of(Side), blank=True)
    blade = models.CharField(_("blade"), max_length=8, choices=choices_of(Blade), blank=True)
    zone = models.CharField(_("where"), max_length=12, choices=choices_of(Zone), blank=True)
    version = StudioKey(
        "reeds.PatternVersion", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    feel = models.CharField(max_length=10, choices=FLEXIBILITY_CHOICES, blank=True)
    why = models.CharField(_("why"), max_length=300, blank=True)
    key = models.UUIDField(
        default=uuid.uuid4, editable=False, help_text="Made by the page: sent twice, it happens once."
    )
    taken_back_at = models.DateTimeField(null=True, blank=True, editable=False)

    objects: ClassVar[ReedEventQuerySet] = ReedEventQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        ordering = ["at", "pk"]
        indexes = [models.Index(fields=["studio", "reed", "at"])]
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(kind="clip") | models.Q(clip_mm__gt=0), name="a_clip_takes_something_off"
            ),
            models.CheckConstraint(
                condition=~models.Q(kind="scrape") | models.Q(strokes__gt=0), name="scraping_has_strokes"
            ),
            models.UniqueConstraint(fields=["studio", "reed", "key"], name="event_once_a_key"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.at:%Y-%m-%d}"

    @property
    def clip(self) -> Measured | None:
        """How much was clipped, mm; None for anything but a clip."""
        return None if self.clip_mm is None else Measured(self.clip_mm, self.clip_u or 0.0)

    @property
    def scraped(self) -> Strokes | None:
        """How many strokes were taken and where; None for anything but scraping."""
        if self.strokes is None:
            return None
        return Strokes(self.strokes, Side(self.side), Blade(self.blade), Zone(self.zone))
