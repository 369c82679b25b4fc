"""What a studio notes besides the registry; its rows join the registry here and nowhere else."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from django.db import models
from django.db.models import F, Q, QuerySet
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from reeds.numbers.quantity import UNITS, Known, Quantity
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import Method, Stage
from reeds.wording import choices_of
from studio.access import Seer, StudioQuerySet, StudioRow
from studio.keys import StudioKey
from studio.models import Member
from studio.prepared import prepared

# what no key of the registry begins with, so that a later registry never takes a studio's word
OWN = "own_"
HAND_METHODS = [way for way in Method if way.by_hand]


class OwnQuantityQuerySet(StudioQuerySet["OwnQuantity"]):
    def in_use(self) -> OwnQuantityQuerySet:
        """Return those that are asked."""
        return self.filter(retired_at__isnull=True)

    def known(self) -> Known:
        """Return the registry joined by these rows: of one studio, as whoever calls has narrowed them."""
        return joined(self.order_by("made_at", "pk"))


class OwnQuantity(StudioRow):
    """One quantity (a number with its unit) or one thing seen (choices) that a teacher added.

    It is retired and never deleted: what was noted of it stays readable.
    """

    key = models.CharField(max_length=40, editable=False)
    name = models.CharField(_("name"), max_length=60)
    help = models.CharField(_("how it is measured"), max_length=200, blank=True)
    stage = models.CharField(_("stage"), max_length=12, choices=choices_of(Stage))
    # of a number
    unit = models.CharField(_("unit"), max_length=10, blank=True)
    low = models.FloatField(_("never less than"), null=True, blank=True)
    high = models.FloatField(_("never more than"), null=True, blank=True)
    method = models.CharField(_("measured with"), max_length=10, choices=choices_of(HAND_METHODS))
    u = models.FloatField(_("doubt of one reading"), null=True, blank=True)
    # of a thing seen: pairs of a lasting word and its label
    choices = models.JSONField(_("choices"), default=list, blank=True)
    made_by = StudioKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    made_at = models.DateTimeField(default=timezone.now, editable=False)
    retired_at = models.DateTimeField(null=True, editable=False)

    objects: ClassVar[OwnQuantityQuerySet] = OwnQuantityQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        ordering = ["made_at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["studio", "key"], name="own_quantity_key_once_a_studio"),
            models.CheckConstraint(
                condition=Q(low__isnull=True, high__isnull=True) | Q(low__lt=F("high")),
                name="own_quantity_bounds_in_order",
            ),
            models.CheckConstraint(
                condition=Q(u__isnull=True) | Q(u__gt=0), name="own_quantity_doubt_is_positive"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def is_number(self) -> bool:
        return not self.choices

    @property
    def described(self) -> Quantity:
        """The entry that the registry would have."""
        return self._number if self.is_number else self._seen

    @property
    def _seen(self) -> Quantity:
        return Quantity(
            key=self.key,
            name=self.name,
            unit="",
            stage=Stage(self.stage),
            kind="choice",
            choices=tuple((word, label) for word, label in self.choices),
            help=self.help,
            method=Method.EYE,
            methods=(Method.EYE,),
            optional=True,
            at_bench=True,
        )

    @property
    def _number(self) -> Quantity:
        """A length may be read with any tool of its kind, which brings the studio's doubt; else with one."""
        method, low, high = Method(self.method), self.low or 0.0, self.high or 0.0
        tools = (method, *(way for way in (Method.RULER, Method.CALIPER, Method.EYE) if way is not method))
        is_length = self.unit == "mm"
        return Quantity(
            key=self.key,
            name=self.name,
            unit=self.unit,
            spellings=UNITS.get(self.unit, ()),
            stage=Stage(self.stage),
            low=low,
            high=high,
            decimals=0 if high - low >= 100 else 1 if high - low >= 3 else 2,
            u={} if is_length or self.u is None else {method: self.u},
            help=self.help,
            method=method,
            methods=tools if is_length else (method,),
            optional=True,
        )


def joined(rows: Iterable[OwnQuantity]) -> Known:
    """Return the registry joined by rows of one studio."""
    own = list(rows)
    return Known(QUANTITIES, [row.described for row in own], {row.key for row in own if row.retired_at})


def known_to(member: Seer) -> Known:
    """Return what the studio of who asks knows, for the pages that need it all day."""
    return joined(_own(member))


@prepared
def _own(member: Seer) -> QuerySet[OwnQuantity]:
    return OwnQuantity.objects.visible_to(member).order_by("made_at", "pk")
