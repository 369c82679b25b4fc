"""One plain picture of a comparison: a row a group, dots or a share; places for its template."""

from __future__ import annotations

import math
import statistics
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from lessons.comparison.inference.compared import Measure
from lessons.comparison.pages.gathered import Asked
from lessons.term.charts.frame import nice_step
from lessons.term.lookback.rates import share
from reeds.numbers.words import Speaks
from reeds.templatetags.quantities import worded
from studio.numerals import for_eyes

# as wide as a phone, so that its letters are seen there as large as they are written
WIDTH, LEFT, RIGHT, ROW, FOOT = 340.0, 10.0, 14.0, 58.0, 40.0
NAME = 20.0  # room of a row's name over its marks
SPREAD = 15.0  # how far apart dots of one row stand, up and down
LONGEST = 36  # letters of a row's name


@dataclass(frozen=True)
class Row:
    """One group: its name, what it stands for, and where its marks are; y is its middle."""

    name: str
    note: str
    y: float
    dots: tuple[tuple[float, float], ...] = ()
    at: float | None = None
    start: float = 0.0
    end: float = 0.0


@dataclass(frozen=True)
class Tick:
    """A place along the picture and what stands there."""

    x: float
    words: str


@dataclass(frozen=True)
class Picture:
    """Everything that its template draws; the view box is 0 0 width height."""

    width: float
    height: float
    rows: tuple[Row, ...]
    ticks: tuple[Tick, ...]
    axis: str


def picture(it: Asked) -> Picture | None:
    """Return the picture of the reeds of which both are known; None where there is none."""
    if not it.cases:
        return None
    if it.factor.is_amount:
        return _of_amounts(it)
    return _of_shares(it) if it.outcome.measure is Measure.SHARES else _of_groups(it)


@dataclass(frozen=True)
class _Along:
    """From values to places along the picture."""

    low: float
    high: float

    def __call__(self, value: float) -> float:
        part = (value - self.low) / (self.high - self.low)
        return round(LEFT + part * (WIDTH - LEFT - RIGHT), 1)

    @property
    def ticks(self) -> tuple[Tick, ...]:
        step = nice_step(self.high - self.low)
        first, last = math.ceil(self.low / step), math.floor(self.high / step)
        values = [round(k * step, 10) for k in range(first, last + 1)]
        return tuple(Tick(self(value), for_eyes(f"{value:g}")) for value in values)


def _along(values: Sequence[float]) -> _Along:
    low, high = min(values), max(values)
    room = (high - low or 1.0) * 0.05
    return _Along(low - room, high + room)


def _of_shares(it: Asked) -> Picture:
    along = _Along(0.0, 100.0)
    rows = []
    for place, (level, values) in enumerate(_by_level(it)):
        so_many = share(int(sum(values)), len(values))
        note = f"{so_many.count} / {so_many.n}"
        at = along(100 * (so_many.value or 0.0))
        start, end = along(100 * so_many.low), along(100 * so_many.high)
        rows.append(Row(_short(level), note, _y(place), at=at, start=start, end=end))
    return _drawn(rows, along, "%")


def _by_level(it: Asked) -> list[tuple[str, list[float]]]:
    """Return the groups, in the order in which they are told, with their outcomes."""
    found: dict[str, list[float]] = defaultdict(list)
    for case in it.cases:
        found[str(case.factor)].append(case.outcome)
    told = list(it.compared.levels)
    return sorted(
        found.items(), key=lambda one: (told.index(one[0]) if one[0] in told else len(told), one[0])
    )


def _of_groups(it: Asked) -> Picture:
    along = _along([case.outcome for case in it.cases])
    rows = [_dotted(place, level, values, along) for place, (level, values) in enumerate(_by_level(it))]
    return _drawn(rows, along, it.outcome.label)


def _of_amounts(it: Asked) -> Picture:
    """Draw a row for each way of having come out, the amounts along it."""
    along = _along(it.amounts)
    named = _ways(it)
    found: dict[str, list[float]] = {name: [] for name in named.values()}
    for case in it.cases:
        found[named[case.outcome]].append(float(case.factor))
    rows = [_dotted(place, name, values, along) for place, (name, values) in enumerate(found.items())]
    return _drawn(rows, along, f"{it.factor.label} ({worded(it.factor.unit)})")


def _ways(it: Asked) -> dict[float, str]:
    """Return a name for each outcome there is, the best first."""
    values = sorted({case.outcome for case in it.cases}, reverse=True)
    if it.outcome.measure is Measure.SHARES:
        return {value: it.outcome.did if value else it.outcome.no for value in values}
    if it.outcome.measure is Measure.PAIRS:
        return {value: _(Speaks(int(value)).label) for value in values}
    return _halves(values, statistics.median(case.outcome for case in it.cases))


def _halves(values: Sequence[float], middle: float) -> dict[float, str]:
    up_to, over = _("up to %s days"), _("over %s days")
    return {value: (over if value > middle else up_to) % for_eyes(middle) for value in values}


def _dotted(place: int, name: str, values: Sequence[float], along: _Along) -> Row:
    """Return a row of dots; those at one place stand over each other."""
    seen: dict[float, int] = defaultdict(int)
    dots = []
    for value in sorted(values):
        x = along(value)
        seen[x] += 1
        up = (seen[x] // 2) * (1 if seen[x] % 2 else -1)
        dots.append((x, round(_y(place) + max(-SPREAD, min(SPREAD, up * 4.0)), 1)))
    return Row(_short(name), str(len(values)), _y(place), dots=tuple(dots))


def _y(place: int) -> float:
    return round(ROW * place + NAME + (ROW - NAME) / 2, 1)


def _short(name: str) -> str:
    return name if len(name) <= LONGEST else name[: LONGEST - 1] + "…"


def _drawn(rows: Sequence[Row], along: _Along, axis: str) -> Picture:
    return Picture(WIDTH, ROW * len(rows) + FOOT, tuple(rows), along.ticks, axis)
