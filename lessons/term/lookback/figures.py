"""The figures of a term, each with its n."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from lessons.term.lookback.middle import Middle, middle
from lessons.term.lookback.rates import Share, share
from lessons.term.lookback.rows import FoundInTerm, NotedInTerm, ReadingInTerm, Wait, WorkInTerm
from lessons.term.lookback.spread import Spread, spread


@dataclass(frozen=True)
class Found:
    """How many of the reeds sent had a finding of this kind."""

    about: str
    outcome: str
    share: Share


@dataclass(frozen=True)
class Answers:
    """Days from sending to the answer; rounds that still wait are counted apart."""

    days: Spread
    waiting: int
    middle: Middle


@dataclass(frozen=True)
class WorkDone:
    """What was set: done, and in time, of what was due; what is not due yet or has no day stands apart."""

    done: Share
    in_time: Share
    not_due: int
    without_day: int


def reached(stages: Iterable[str], order: Sequence[str]) -> list[tuple[str, Share]]:
    """Return how many reeds reached each stage or one beyond it.

    Parameters
    ----------
    stages : iterable of str
        The furthest stage of each reed, one entry a reed; each must stand in `order`.
    order : sequence of str
        The stages from first to last.

    Returns
    -------
    list of (stage, Share)
        In `order`; the share is of all reeds given.

    Raises
    ------
    ValueError
        If a stage does not stand in `order`.
    """
    places = [list(order).index(stage) for stage in stages]
    return [(stage, share(sum(p >= place for p in places), len(places))) for place, stage in enumerate(order)]


def found(rows: Iterable[FoundInTerm], sent: Collection[int]) -> list[Found]:
    """Return each kind of finding with its share of the reeds sent, the most frequent first.

    A reed with the same finding in three rounds counts once; `sent` are the reeds sent, each once.
    """
    kinds = {(row.reed, row.about, row.outcome) for row in rows}
    counts = Counter((about, outcome) for _, about, outcome in kinds)
    return [
        Found(about, outcome, share(count, len(sent)))
        for (about, outcome), count in sorted(counts.items(), key=lambda item: (-item[1], item[0]))
    ]


def chosen(rows: Iterable[NotedInTerm], words: Sequence[str]) -> list[tuple[str, Share]]:
    """Return for how many reeds each word was chosen, of the reeds it was noted of at all.

    Parameters
    ----------
    rows : iterable of NotedInTerm
        Of one thing, oldest first: a reed counts once, with what was noted of it last.
    words : sequence of str
        The words that can be chosen, in the order told; what is not among them is left out.

    Returns
    -------
    list of (word, Share)
        In the order of `words`; the counts add up to n.
    """
    last = {row.reed: row.word for row in rows if row.word in words}
    counts = Counter(last.values())
    return [(word, share(counts[word], len(last))) for word in words]


def answers(waits: Sequence[Wait]) -> Answers:
    """Return the days to an answer over the answered rounds, and how many still wait."""
    days = [wait.days for wait in waits if wait.days is not None]
    return Answers(spread(days), len(waits) - len(days), middle(days))


def work_done(work: Iterable[WorkInTerm], today: dt.date) -> WorkDone:
    """Return how much of what was due up to yesterday was done, and by its day.

    Parameters
    ----------
    work : iterable of WorkInTerm
        Times in the studio's zone, whose days count.
    today : date
        In the same zone: what is due today may still be done.
    """
    rows = list(work)
    due = [row for row in rows if row.due_on is not None and row.due_on < today]
    done = sum(row.done_at is not None for row in due)
    in_time = sum(_by_its_day(row) for row in due)
    without_day = sum(row.due_on is None for row in rows)
    return WorkDone(
        share(done, len(due)), share(in_time, len(due)), len(rows) - len(due) - without_day, without_day
    )


def _by_its_day(row: WorkInTerm) -> bool:
    return row.done_at is not None and row.due_on is not None and row.done_at.date() <= row.due_on


def inside(readings: Iterable[ReadingInTerm]) -> tuple[int, int]:
    """Return how many readings lie inside their sheet's limits, taken as read, and how many have any."""
    limited = [r for r in readings if r.low is not None or r.high is not None]
    within = sum(
        (r.low is None or r.value >= r.low) and (r.high is None or r.value <= r.high) for r in limited
    )
    return within, len(limited)
