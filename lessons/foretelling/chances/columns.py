"""The numbers that a blank's row turns into, each named and each with what it is about."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeAlias

from lessons.foretelling.chances.rows import Blank, Told
from reeds.numbers.late import np

if TYPE_CHECKING:
    from numpy.typing import NDArray

Floats: TypeAlias = "NDArray[np.float64]"

# a column known of fewer reeds tells nothing; a shape of fewer is no column of its own: own choice, no source
LEAST_KNOWN = 20
EVEN_EFFORT = 3.0
UNKNOWN = Told(math.nan, math.nan)


@dataclass(frozen=True)
class Column:
    """One number of a blank; several may be about the same thing, as long and short tying are."""

    about: str
    of: Callable[[Blank], Told | None] = field(compare=False)
    word: str = ""


def _distance(told: Told | None) -> Told | None:
    return told and Told(abs(told.value), told.u)


def _flag(known: bool, holds: bool) -> Told | None:
    return Told(float(holds)) if known else None


def _plain(value: float | None) -> Told | None:
    return None if value is None else Told(value)


def _nights(days: float | None) -> Told | None:
    """The first days count for more than the later ones: rest on a scale of doublings."""
    return None if days is None else Told(math.log2(1.0 + max(days, 0.0)))


def _feel(word: str) -> Column:
    known = ("flexible", "medium", "hard")
    return Column("flexibility", lambda b: _flag(b.flexibility in known, b.flexibility == word), word)


def _shape(word: str) -> Column:
    return Column("shape", lambda b: _flag(bool(b.shape), b.shape == word), word)


OF_A_BLANK = (
    Column("tie", lambda b: b.tie),
    Column("tie", lambda b: _distance(b.tie), "off"),
    Column("thread", lambda b: b.thread),
    Column("thread", lambda b: _distance(b.thread), "off"),
    Column("gouge", lambda b: b.gouge),
    Column("airtight", lambda b: _flag(b.airtight is not None, bool(b.airtight))),
    _feel("flexible"),
    _feel("hard"),
    Column("staple_length", lambda b: _plain(b.staple_length)),
    Column("rested_days", lambda b: _nights(b.rested_days)),
)
OF_A_TEST = (
    Column("speaks", lambda b: _plain(b.speaks)),
    Column("effort", lambda b: _distance(_plain(b.effort and b.effort - EVEN_EFFORT))),
)


def _shapes(blanks: Iterable[Blank]) -> Iterator[Column]:
    """One column each for the shapes used often, but for the most frequent: that one they are set against."""
    counts = Counter(blank.shape for blank in blanks if blank.shape).most_common()
    yield from (_shape(word) for word, n in counts[1:] if n >= LEAST_KNOWN)


def columns_for(blanks: Iterable[Blank], tried: bool = False) -> tuple[Column, ...]:
    """Return the columns that may tell something; with the first playing test where `tried`."""
    return (*OF_A_BLANK, *_shapes(blanks), *(OF_A_TEST if tried else ()))


@dataclass(frozen=True)
class Table:
    """Blanks as numbers.

    Attributes
    ----------
    columns : tuple of Column, length k
    values, doubts : float arrays, shape (n, k)
        In the columns' own units; both nan where not known.
    students : int array, shape (n,)
    plays : float array, shape (n,)
        1 where it came to play, 0 where not, nan where that is not known.
    """

    columns: tuple[Column, ...]
    values: Floats
    doubts: Floats
    students: NDArray[np.int64]
    plays: Floats


def table(blanks: Sequence[Blank], columns: tuple[Column, ...]) -> Table:
    """Return blanks as numbers."""
    told = [[column.of(blank) or UNKNOWN for column in columns] for blank in blanks]
    both = np.array(told, dtype=float).reshape(len(blanks), len(columns), 2)
    students = np.array([blank.student for blank in blanks], dtype=np.int64)
    plays = np.array([math.nan if blank.plays is None else float(blank.plays) for blank in blanks])
    return Table(columns, both[..., 0], both[..., 1], students, plays)


@dataclass(frozen=True)
class Scale:
    """The columns of a table that can tell something, and where their numbers lie.

    Attributes
    ----------
    used : int array, shape (k,)
        Their places in the table.
    mean, sd, low, high : float arrays, shape (k,)
        Over what taught it, in the columns' own units; `sd` over 0.
    """

    used: NDArray[np.int64]
    mean: Floats
    sd: Floats
    low: Floats
    high: Floats

    def standard(self, rows: Table) -> tuple[Floats, Floats]:
        """Return the numbers in standard deviations from their mean, and how doubtful each is.

        Returns
        -------
        two float arrays, shape (n, k)
            What is not known is the mean with a doubt of one standard deviation; what lies beyond all
            that was seen counts as the farthest that was seen.
        """
        values, doubts = rows.values[:, self.used].clip(self.low, self.high), rows.doubts[:, self.used]
        known = np.isfinite(values)
        return np.where(known, (values - self.mean) / self.sd, 0.0), np.where(known, doubts / self.sd, 1.0)


def scale_of(taught: Table) -> Scale:
    """Return what these reeds can teach: a column that too few know, or that never varies, is left out."""
    known = np.isfinite(taught.values)
    enough = known.sum(axis=0) >= LEAST_KNOWN
    varies = np.array(
        [len(set(row[there].tolist())) > 1 for row, there in zip(taught.values.T, known.T, strict=True)]
    )
    used = np.flatnonzero(enough & varies)
    values = taught.values[:, used]
    ends = np.nanmin(values, axis=0), np.nanmax(values, axis=0)
    return Scale(used, np.nanmean(values, axis=0), np.nanstd(values, axis=0), *ends)
