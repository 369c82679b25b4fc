"""How long a blank lay before it was scraped, from what its steps tell."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import Protocol

from reeds.numbers.words import Stage

STAGES = {stage.value: stage for stage in Stage}  # looked up for every step of a term


class Step(Protocol):
    """What an event tells of a reed's way: to which stage it came ('' for none), and when."""

    @property
    def to_stage(self) -> str: ...
    @property
    def at(self) -> dt.datetime: ...


def rested_before_scraping(events: Iterable[Step]) -> dt.timedelta | None:
    """Return how long the blank lay from tying to the first scraping; None if it is not known.

    Binding does not end the rest; where tying was not noted, it counts from binding.
    """
    steps = steps_to_scraping(events)
    begin = since(steps, Stage.TIED) or since(steps, Stage.BOUND)
    return steps[-1][0] - begin if begin and steps[-1][1].is_scraped else None


def bound_before_scraping(events: Iterable[Step]) -> dt.timedelta | None:
    """Return how long it lay from binding to the first scraping; None if it is not known."""
    steps = steps_to_scraping(events)
    begin = since(steps, Stage.BOUND)
    return steps[-1][0] - begin if begin and steps[-1][1].is_scraped else None


def steps_to_scraping(events: Iterable[Step]) -> list[tuple[dt.datetime, Stage]]:
    """The steps noted, oldest first, the first scraping last."""
    steps: list[tuple[dt.datetime, Stage]] = []
    for event in events:
        if event.to_stage:
            steps.append((event.at, STAGES[event.to_stage]))
            if steps[-1][1].is_scraped:
                break
    return steps


def since(steps: Iterable[tuple[dt.datetime, Stage]], stage: Stage) -> dt.datetime | None:
    """When it came to a stage last: a reed tied again rests anew."""
    moments = [at for at, reached in steps if reached is stage]
    return moments[-1] if moments else None
