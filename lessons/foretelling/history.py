"""The one place that turns a studio's rows into the plain rows that foretelling learns from.

A reed counts from the day it was scraped: a blank given up before had no chance to play, and its short rest
would make every longer one look good. Of each reed only what was known before it was scraped is taken, and
of its first playing test only one that was made before it came to play.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from functools import cached_property
from typing import Any, NamedTuple, TypeVar

from django.db.models import Q

from lessons.foretelling.chances.rows import Blank, Told
from lessons.foretelling.lives import Life, MadeOf, Noted, Tried
from lessons.term.limits import Asked, SheetLimits
from lessons.term.lives import Step
from reeds.numbers.words import Method, Stage
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.playing import PlayingTest
from reeds.reed.models.reed import EventKind, Reed, ReedEvent
from reeds.sheet.models.own import OwnQuantity
from studio.counting import mean_of

READ = ("tie_length", "thread_past_staple", "gouge", "airtight")
BEFORE_SCRAPING = [stage for stage in Stage if stage.order < Stage.SCRAPED.order]
U_OF_A_LOT = Method.DIAL.u_mm or 0.0

Of = TypeVar("Of")
Rows = Iterable[tuple[Any, ...]]


class WholeStudio(NamedTuple):
    """Who learns: nobody in particular. What comes of it are a few coefficients that name no reed."""

    studio_id: int
    pk: int = 0
    teaches: bool = True
    leads: bool = True
    is_guardian: bool = False
    sees_rows_of: tuple[int, ...] = ()


class History:
    """Every reed of a studio that tells something, in seven queries however many there are."""

    def __init__(self, studio_id: int) -> None:
        self._everybody = WholeStudio(studio_id)

    @cached_property
    def blanks(self) -> list[Blank]:
        """Those with an outcome, as they were before they were scraped."""
        return [self._blank(life) for life in self._lives if life.was_scraped and life.plays is not None]

    @cached_property
    def given_up_before(self) -> int:
        """How many were given up before they were scraped: they teach nothing here."""
        return sum(life.plays is False and not life.was_scraped for life in self._lives)

    @cached_property
    def resting(self) -> list[Blank]:
        """The blanks at rest, the longest rest first."""
        rows = [self._blank(life) for life in self._lives if Stage(life.made.stage).is_blank]
        return sorted(rows, key=lambda blank: -(blank.rested_days or 0.0))

    @cached_property
    def tried(self) -> list[Blank]:
        """Those with an outcome that were tried before they came to play, as they were then."""
        return [blank for blank in self._tested if blank.plays is not None]

    @cached_property
    def on_the_way(self) -> list[Blank]:
        """Those tried and not yet playing."""
        return [blank for blank in self._tested if blank.plays is None]

    @cached_property
    def _tested(self) -> list[Blank]:
        tests = ((life, life.first_test) for life in self._lives)
        return [
            self._blank(life)._replace(speaks=test.speaks, effort=test.effort)
            for life, test in tests
            if test and test.speaks is not None
        ]

    @cached_property
    def _lives(self) -> list[Life]:
        steps, felt, noted, tests = self._events, self._felt, self._noted, self._tests
        return [Life(row, steps[row.pk], felt[row.pk], noted[row.pk], tests[row.pk]) for row in self._reeds]

    @cached_property
    def _reeds(self) -> list[MadeOf]:
        rows = Reed.objects.visible_to(self._everybody).filter(is_model=False).order_by("made_at", "pk")
        names = ("pk", "number", "owner", "version", "staple_length", "shape", "flexibility", "stage")
        return [MadeOf._make(row) for row in rows.values_list(*names, "cane__gouge")]

    @cached_property
    def _events(self) -> defaultdict[int, list[Step]]:
        rows = ReedEvent.objects.visible_to(self._everybody).standing()
        rows = rows.filter(Q(kind=EventKind.PLAYED) | ~Q(to_stage="")).order_by("at", "pk")
        told: Rows = rows.values_list("reed", "kind", "to_stage", "at")
        return _by_reed((reed, Step._make(row)) for reed, *row in told)

    @cached_property
    def _felt(self) -> defaultdict[int, list[tuple[dt.datetime, str]]]:
        rows = ReedEvent.objects.visible_to(self._everybody).standing().filter(kind=EventKind.FEEL)
        return _by_reed(
            (reed, (at, feel))
            for reed, at, feel in rows.order_by("at", "pk").values_list("reed", "at", "feel")
        )

    @cached_property
    def _noted(self) -> defaultdict[int, list[Noted]]:
        rows = Measurement.objects.visible_to(self._everybody).filter(stage__in=BEFORE_SCRAPING)
        rows = rows.filter(quantity__in=READ).order_by("at", "pk")
        told: Rows = rows.values_list("reed", "quantity", "stage", "at", "value", "u", "word")
        return _by_reed((reed, Noted._make(row)) for reed, *row in told)

    @cached_property
    def _tests(self) -> defaultdict[int, list[Tried]]:
        rows = PlayingTest.objects.visible_to(self._everybody).annotate(
            speaks=mean_of(PlayingTest, "ratings__speaks")
        )
        told: Rows = rows.order_by("at", "pk").values_list("reed", "at", "speaks", "effort")
        return _by_reed((reed, Tried._make(row)) for reed, *row in told)

    @cached_property
    def _limits(self) -> SheetLimits:
        return SheetLimits(self._everybody, OwnQuantity.objects.visible_to(self._everybody).known())

    def _blank(self, life: Life) -> Blank:
        made, airtight = life.made, life.last("airtight")
        return Blank(
            reed=made.pk,
            number=made.number,
            student=made.owner,
            plays=life.plays,
            airtight=None if airtight is None else airtight.word == "yes",
            shape=made.shape.strip().casefold(),
            flexibility=life.flexibility,
            staple_length=made.staple_length,
            rested_days=life.rested_days,
            tie=self._off_aim(life, "tie_length"),
            thread=self._off_aim(life, "thread_past_staple"),
            gouge=self._off_aim(life, "gouge"),
        )

    def _off_aim(self, life: Life, quantity: str) -> Told | None:
        row, made = life.last(quantity), life.made
        value, u = (row.value, row.u) if row else (None, None)
        stage = row.stage if row else Stage.CANE
        if value is None and quantity == "gouge":
            value, u = made.lot_gouge, U_OF_A_LOT
        asked = Asked(made.owner, stage, quantity, made.version, made.staple_length, made.flexibility)
        _low, aim, _high = self._limits[asked]
        return None if value is None or aim is None else Told(value - aim, u or 0.0)


def _by_reed(rows: Iterable[tuple[int, Of]]) -> defaultdict[int, list[Of]]:
    found: defaultdict[int, list[Of]] = defaultdict(list)
    for reed, row in rows:
        found[reed].append(row)
    return found
