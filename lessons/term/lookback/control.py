"""What a hand usually does: limits from how far each reed lies from the one before."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reeds.numbers.late import np

# 3 / d2 for ranges of two, d2 = 1.128
LIMITS = 2.66
# with fewer moving ranges their mean says next to nothing; own choice
FEWEST = 8


@dataclass(frozen=True)
class Usual:
    """Where a hand's numbers usually lie, in the quantity's unit; `outside` are places in the row given."""

    n: int
    mean: float
    moving: float
    low: float
    high: float
    outside: tuple[int, ...]


def usual(values: Sequence[float]) -> Usual | None:
    """Return mean and limits of single numbers in order of time.

    Parameters
    ----------
    values : sequence of float
        One a reed, in order of time, in any one unit.

    Returns
    -------
    Usual or None
        Limits are the mean -+ 2.66 mean moving ranges; None with fewer than eight numbers.

    Source
    ------
    NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, Individuals Control Charts. Of normal numbers 3
    in 1,000 fall outside by chance; of a hand with heavy tails more: a number outside is one to look at, no
    finding.
    """
    if len(values) < FEWEST:
        return None
    row = np.asarray(values, dtype=float)
    mean, moving = float(row.mean()), float(np.abs(np.diff(row)).mean())
    low, high = mean - LIMITS * moving, mean + LIMITS * moving
    outside = tuple(int(place) for place in np.flatnonzero((row < low) | (row > high)))
    return Usual(len(values), mean, moving, low, high, outside)
