"""One reed as its rows tell of it, and what of that was known before it was scraped."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from django.utils import timezone

from lessons.term.lives import Step, furthest, outcome, played_from
from lessons.term.lookback.rows import OPEN, PLAYED
from reeds.numbers.words import Stage
from reeds.reed.models.reed import EventKind
from reeds.reed.resting import rested_before_scraping


class MadeOf(NamedTuple):
    """A reed's own row."""

    pk: int
    number: int
    owner: int
    version: int
    staple_length: float | None
    shape: str
    flexibility: str
    stage: str
    lot_gouge: float | None


class Noted(NamedTuple):
    """A number or word noted of a reed before it was scraped."""

    quantity: str
    stage: str
    at: dt.datetime
    value: float | None
    u: float | None
    word: str


class Tried(NamedTuple):
    """One playing test: the mean over what spoke, and how hard it was to blow."""

    at: dt.datetime
    speaks: float | None
    effort: int | None


@dataclass(frozen=True)
class Life:
    """One reed with all that is read of it."""

    made: MadeOf
    steps: Sequence[Step]
    felt: Sequence[tuple[dt.datetime, str]]
    noted: Sequence[Noted]
    tests: Sequence[Tried]

    @cached_property
    def scraped_at(self) -> dt.datetime | None:
        return min((s.at for s in self.steps if s.to_stage and Stage(s.to_stage).is_scraped), default=None)

    @cached_property
    def came_to(self) -> Stage:
        return furthest(self.made.stage, self.steps)

    @property
    def was_scraped(self) -> bool:
        return self.came_to.order >= Stage.SCRAPED.order

    @cached_property
    def plays(self) -> bool | None:
        """Whether it came to play; None while nobody knows."""
        told = outcome(self.made.stage, self.came_to)
        return None if told == OPEN else told == PLAYED

    @property
    def flexibility(self) -> str:
        """How the wet cane felt; '' where that was noted only after the reed was scraped."""
        if self.scraped_at is None or all(at < self.scraped_at for at, _feel in self.felt):
            return self.made.flexibility
        return next((feel for at, feel in reversed(self.felt) if at < self.scraped_at), "")

    @property
    def rested_days(self) -> float | None:
        """Days from tied to scraped, or to now."""
        now = Step(EventKind.STAGE, Stage.SCRAPED, timezone.now())
        rested = rested_before_scraping([*self.steps, now])
        known = rested is not None and (self.scraped_at is not None or not self.was_scraped)
        return rested / dt.timedelta(days=1) if rested is not None and known else None

    def last(self, quantity: str) -> Noted | None:
        """What was noted last of it before scraping."""
        rows = (row for row in self.noted if row.quantity == quantity)
        before = [row for row in rows if self.scraped_at is None or row.at < self.scraped_at]
        return before[-1] if before else None

    @property
    def first_test(self) -> Tried | None:
        """The first playing test after scraping, if the reed had not come to play by then."""
        plays = played_from(self.steps)
        after = [one for one in self.tests if self.scraped_at and one.at >= self.scraped_at]
        return after[0] if after and (plays is None or after[0].at < plays) else None
