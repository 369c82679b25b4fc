"""What a studio asked of a term, and the comparisons it planned."""

from __future__ import annotations

import datetime as dt
import uuid
from collections import defaultdict
from collections.abc import Iterable
from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.formats import number_format
from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from reeds.numbers.words import Stage
from reeds.reed.models.reed import Reed
from studio.access import StudioQuerySet, StudioRow
from studio.keys import StudioKey
from studio.models import Member, Term

WEEK = 7
# a blank at rest joins a comparison of rests only if it lay no longer than the shorter, and this many days
BEGUN_DAYS = 1.0


class AskedQuestion(StudioRow):
    """A question asked of a term: does this outcome go with that factor? Kept, since each one counts."""

    owner_path = "by"

    term = StudioKey(Term, on_delete=models.CASCADE, related_name="questions")
    outcome = models.CharField(max_length=80)
    factor = models.CharField(max_length=80)
    lot = models.CharField(max_length=60, blank=True, help_text=_("Asked of the reeds of this cane alone."))
    by = StudioKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["studio", "term", "outcome", "factor", "lot"], name="question_once_a_term"
            )
        ]

    def __str__(self) -> str:
        return f"{self.outcome} / {self.factor}"


class Differs(models.TextChoices):
    """In what the two ways of a planned comparison differ."""

    REST = "rest", _("rest before scraping")
    SCRAPE = "scrape_length", _("length of the scrape")
    LOT = "lot", _("cane lot")
    STAPLE = "staple", _("staple")
    STAPLE_LENGTH = "staple_length", _("staple length")
    SHAPE = "shape", _("shape")
    OTHER = "other", _("something else, in words")

    @property
    def is_ahead(self) -> bool:
        """Whether it must be known before the blank is made, so that it is told before."""
        return self in (Differs.LOT, Differs.STAPLE, Differs.STAPLE_LENGTH, Differs.SHAPE)

    @property
    def is_amount(self) -> bool:
        """Whether its two ways are numbers."""
        return self in (Differs.REST, Differs.SCRAPE, Differs.STAPLE_LENGTH)


class PlanQuerySet(StudioQuerySet["PlannedComparison"]):
    def standing(self) -> PlanQuerySet:
        """Return those that were not taken back."""
        return self.filter(taken_back_at__isnull=True)

    def running(self, today: dt.date) -> PlanQuerySet:
        """Return those in which blanks still go their ways on that day."""
        return self.standing().filter(stopped_at__isnull=True, until__gte=today)

    def due(self, today: dt.date | None = None) -> PlanQuerySet:
        """Return those that are over and were not put away yet."""
        over = Q(stopped_at__isnull=False) | Q(until__lt=today or timezone.localdate())
        return self.standing().filter(over, put_away_at__isnull=True)


class PlannedComparison(StudioRow):
    """Two ways of making reeds, drawn by lot within each student; what is planned is never changed."""

    owner_path = "students"

    made_by = StudioKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    made_at = models.DateTimeField(default=timezone.now, editable=False)
    differs = models.CharField(_("what differs"), max_length=20, choices=Differs.choices)
    one = models.CharField(_("the one way"), max_length=60)
    other = models.CharField(_("the other way"), max_length=60)
    outcome = models.CharField(_("what is looked at in the end"), max_length=80)
    students = models.ManyToManyField(Member, verbose_name=_("whose blanks"), related_name="comparisons")
    blanks_each = models.PositiveSmallIntegerField(_("blanks of each"))
    until = models.DateField(_("until"))
    seed = models.BigIntegerField(editable=False, help_text="Of the draw, so that it can be done again.")
    key = models.UUIDField(default=uuid.uuid4, editable=False, help_text="Of the form: sent twice, one plan.")
    taken_back_at = models.DateTimeField(null=True, editable=False)
    stopped_at = models.DateTimeField(null=True, editable=False)
    stopped_why = models.CharField(max_length=200, blank=True)
    put_away_at = models.DateTimeField(null=True, editable=False)

    objects: ClassVar[PlanQuerySet] = PlanQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        ordering = ["-made_at"]
        constraints = [models.UniqueConstraint(fields=["studio", "key"], name="comparison_once_a_key")]

    def __str__(self) -> str:
        return gettext("%(one)s or %(other)s") % {"one": self.way(0), "other": self.way(1)}

    @property
    def is_over(self) -> bool:
        """Whether no blank goes its way any more."""
        return self.stopped_at is not None or self.until < timezone.localdate()

    @property
    def is_running(self) -> bool:
        return self.taken_back_at is None and not self.is_over

    @property
    def is_ahead(self) -> bool:
        return Differs(self.differs).is_ahead

    def given(self, arm: int) -> str:
        """Return the way as it was typed: 0 for the one, 1 for the other."""
        return self.other if arm else self.one

    def amount(self, arm: int) -> float:
        """Return the way as a number, days or mm; ValueError where it is none."""
        return float(self.given(arm))

    def way(self, arm: int) -> str:
        """Return the way in words."""
        given = self.given(arm)
        if self.differs == Differs.REST:
            return gettext("rest %s") % in_days(self.amount(arm))
        words = {
            Differs.SCRAPE: gettext("a scrape of %s mm"),
            Differs.LOT: gettext("cane ‘%s’"),
            Differs.STAPLE: gettext("staple ‘%s’"),
            Differs.STAPLE_LENGTH: gettext("a staple of %s mm"),
            Differs.SHAPE: gettext("shape ‘%s’"),
        }.get(Differs(self.differs), "%s")
        return words % (number_format(given) if Differs(self.differs).is_amount else given)


def in_days(days: float) -> str:
    """Return '1 day' or '8 weeks'."""
    if days >= 2 * WEEK and days % WEEK == 0:
        return ngettext("%d week", "%d weeks", int(days // WEEK)) % int(days // WEEK)
    return ngettext("%s day", "%s days", int(days)) % number_format(days, 0)


class Allotment(StudioRow):
    """One place of a plan: what was drawn for it and, from when a blank takes it, which one."""

    owner_path = "student"

    plan = StudioKey(PlannedComparison, on_delete=models.CASCADE, related_name="places")
    student = StudioKey(Member, on_delete=models.CASCADE, related_name="+")
    place = models.PositiveSmallIntegerField()
    arm = models.PositiveSmallIntegerField(help_text="0 for the one way, 1 for the other.", editable=False)
    reed = StudioKey(Reed, null=True, on_delete=models.SET_NULL, related_name="allotments")
    taken_at = models.DateTimeField(null=True, editable=False)
    not_kept_why = models.CharField(_("why it was not kept to"), max_length=200, blank=True)
    not_kept_by = StudioKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")

    class Meta:
        ordering = ["student", "place"]
        constraints = [
            models.UniqueConstraint(
                fields=["studio", "plan", "student", "place"], name="place_once_a_student"
            ),
            models.UniqueConstraint(fields=["studio", "plan", "reed"], name="reed_once_a_comparison"),
            models.CheckConstraint(condition=Q(arm__in=(0, 1)), name="arm_is_one_or_other"),
        ]

    def __str__(self) -> str:
        return f"{self.student}: {self.place}"

    @property
    def way(self) -> str:
        return self.plan.way(self.arm)


def blanks_by_student(plan: PlannedComparison, students: Iterable[Member]) -> dict[int, list[Reed]]:
    """Return of each student the blanks that can take a place now, by number: not scraped, in no comparison.

    What has to be known before a blank is made needs a blank made since the plan; of rests, a blank that has
    not rested longer than the shorter of the two already.
    """
    before = [Stage.CANE, Stage.SHAPED, Stage.TIED, Stage.BOUND]
    rows = Reed.objects.filter(studio=plan.studio_id, owner__in=list(students), taken_out_at__isnull=True)
    blanks = rows.filter(is_model=False, stage__in=before)
    standing = PlannedComparison.objects.standing().filter(studio=plan.studio_id)
    blanks = blanks.exclude(allotments__plan__in=standing)
    if plan.is_ahead:
        blanks = blanks.filter(made_at__gte=plan.made_at)
    resting = {reed.pk: reed.resting_since for reed in rows.at_rest()}
    found: dict[int, list[Reed]] = defaultdict(list)
    for reed in blanks.order_by("number"):
        if _is_in_time(plan, resting.get(reed.pk)):
            found[reed.owner_id].append(reed)
    return found


def blanks_for(plan: PlannedComparison, student: Member) -> list[Reed]:
    """Return one student's blanks that can take a place now."""
    return blanks_by_student(plan, [student]).get(student.pk, [])


def _is_in_time(plan: PlannedComparison, resting_since: dt.datetime | None) -> bool:
    if plan.differs != Differs.REST or resting_since is None:
        return True
    shorter = min(plan.amount(0), plan.amount(1))
    return timezone.now() - resting_since <= dt.timedelta(days=shorter + BEGUN_DAYS)
