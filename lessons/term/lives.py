"""A reed's steps and the days it was played, from rows of its events to what the figures of a term ask."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from lessons.term.lookback.rows import GIVEN_UP, OPEN, PLAYED
from reeds.numbers.words import Stage
from reeds.reed.models.reed import EventKind
from reeds.reed.resting import rested_before_scraping

ORDER = {
    stage.value: stage.order for stage in Stage if stage is not Stage.GIVEN_UP
}  # looked up a thousand times
BY_ORDER = list(Stage)
PLAYING = ORDER[Stage.PLAYING]


class Step(NamedTuple):
    """One event that still stands: a step to a stage, or that it was played."""

    kind: str
    to_stage: str
    at: dt.datetime


def furthest(stage: str, steps: Iterable[Step]) -> Stage:
    """Return the furthest stage a reed ever stood in, giving up left aside."""
    order = max(ORDER.get(stood, 0) for stood in (stage, *[step.to_stage for step in steps]))
    return BY_ORDER[order]


def outcome(stage: str, came_to: Stage) -> str:
    """Return what became of a reed that stands in `stage` and came as far as `came_to`."""
    if ORDER[came_to] >= PLAYING:
        return PLAYED
    return GIVEN_UP if stage == Stage.GIVEN_UP else OPEN


def rested_days(steps: Iterable[Step]) -> float | None:
    """Return the days from tied to first scraped; None if they are not known."""
    rested = rested_before_scraping(steps)
    return None if rested is None else rested / dt.timedelta(days=1)


def played_from(steps: Iterable[Step]) -> dt.datetime | None:
    """Return when it first came to play; None if nobody noted that."""
    return min(
        (s.at for s in steps if s.to_stage == Stage.PLAYING or s.kind == EventKind.PLAYED), default=None
    )


def ended_at(steps: Sequence[Step]) -> dt.datetime | None:
    """Return when it was played out or given up, unless it was taken up again."""
    stages = [step for step in steps if step.to_stage]
    over = bool(stages) and stages[-1].to_stage in (Stage.PLAYED_OUT, Stage.GIVEN_UP)
    return stages[-1].at if over else None


def times_played(steps: Iterable[Step]) -> list[dt.datetime]:
    """Return every time at which somebody noted that it played."""
    return [step.at for step in steps if step.kind == EventKind.PLAYED or step.to_stage == Stage.PLAYING]
