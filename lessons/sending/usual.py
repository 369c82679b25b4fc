"""When an answer is usual: what the rounds that a studio answered say of it, in hours."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from reeds.numbers.late import np

# with fewer rounds, or of fewer students, nothing is said: a figure of so few is one person's. Own choice
FEWEST, FEWEST_STUDENTS = 8, 3
# so many of the newest: a teacher's week changes
NEWEST = 40


class Answered(NamedTuple):
    """One round that was answered: whose it was, and when."""

    student: int
    sent_at: dt.datetime
    answered_at: dt.datetime


@dataclass(frozen=True)
class Usual:
    """How long `n` rounds waited: eight of ten between `short` and `long`, half of them up to `middle`."""

    n: int
    short: dt.timedelta
    middle: dt.timedelta
    long: dt.timedelta


def usual_wait(rounds: Sequence[Answered], student: int) -> Usual | None:
    """Return how long an answer takes; None where too few rounds say so.

    Parameters
    ----------
    rounds : sequence of Answered
        The studio's, in any order.
    student : int
        Who asks: where fewer than three students were answered, only their own rounds count.

    Returns
    -------
    Usual or None
        Tenth, middle and nine tenths by linear interpolation, each rounded up to a whole hour.

    Source
    ------
    Own choice of the shares; Hyndman and Fan, The American Statistician 50 (1996) 361-365, definition 7.
    """
    several = len({row.student for row in rounds}) >= FEWEST_STUDENTS
    counted = [row for row in rounds if several or row.student == student]
    if len(counted) < FEWEST:
        return None
    hours = [(row.answered_at - row.sent_at) / dt.timedelta(hours=1) for row in counted]
    short, middle, long = (
        dt.timedelta(hours=max(1, math.ceil(part))) for part in np.quantile(hours, [0.1, 0.5, 0.9])
    )
    return Usual(len(counted), short, middle, long)
