"""The picture of how well chances held: places for an SVG template, no colours and no words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

WIDTH, HEIGHT = 320.0, 260.0
LEFT, RIGHT, TOP, BOTTOM = 44.0, 22.0, 12.0, 44.0
TICKS = (0.0, 0.25, 0.5, 0.75, 1.0)


class Spot(NamedTuple):
    """One group of reeds: what was foretold against what became of them, and the share's interval."""

    x: float
    y: float
    top: float
    bottom: float


class Tick(NamedTuple):
    """A place on an axis and the per cent that stand there."""

    at: float
    percent: int


class Picture(NamedTuple):
    """Everything an SVG template needs; the view box is 0 0 width height."""

    width: float
    height: float
    spots: tuple[Spot, ...]
    across: tuple[Tick, ...]
    up: tuple[Tick, ...]

    @property
    def even(self) -> tuple[float, float, float, float]:
        """The line on which chances hold: its two ends, x and y each."""
        return self.across[0].at, self.up[0].at, self.across[-1].at, self.up[-1].at


def _x(share: float) -> float:
    return round(LEFT + share * (WIDTH - LEFT - RIGHT), 2)


def _y(share: float) -> float:
    return round(HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM), 2)


def picture(groups: Sequence[tuple[float, float, float, float]]) -> Picture:
    """Return the picture of groups of reeds.

    Parameters
    ----------
    groups : sequence of (foretold, played, low, high)
        The mean chance foretold, the share that came to play, and that share's interval; 0 to 1 each.

    Raises
    ------
    ValueError
        If one of them lies outside 0 to 1.
    """
    if any(not 0.0 <= share <= 1.0 for group in groups for share in group):
        raise ValueError("Shares and chances lie between 0 and 1.")
    spots = tuple(Spot(_x(foretold), _y(played), _y(high), _y(low)) for foretold, played, low, high in groups)
    across = tuple(Tick(_x(tick), round(100 * tick)) for tick in TICKS)
    return Picture(WIDTH, HEIGHT, spots, across, tuple(Tick(_y(tick), round(100 * tick)) for tick in TICKS))
