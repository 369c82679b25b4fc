"""How long reeds play, as steps: the share that still plays after so many days, with its interval."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lessons.term.charts import shapes
from lessons.term.charts.frame import BOTTOM, LEFT, RIGHT, TOP, WIDTH, Scale, ValueTick, nice_step

HEIGHT = 170.0
_SHARES = (0.0, 0.5, 1.0)


@dataclass(frozen=True)
class StepAt:
    """From `day` on so much still plays, until the next step; shares of 0 to 1, low <= share <= high."""

    day: float
    share: float
    low: float
    high: float


@dataclass(frozen=True)
class Still:
    """A reed that still played when it was last heard of."""

    x: float
    y: float


@dataclass(frozen=True)
class Playing:
    """One picture: the view box is 0 0 width height; `steps` and `interval` are SVG paths."""

    width: float
    height: float
    steps: str
    interval: str
    still: tuple[Still, ...]
    y_ticks: tuple[ValueTick, ...]
    x_ticks: tuple[ValueTick, ...]

    @property
    def ticks(self) -> str:
        """The path of the reeds that still played."""
        return shapes.bars((one.x, one.y - 5, one.y + 5) for one in self.still)


def playing(steps: Sequence[StepAt], still: Sequence[float], longest: float) -> Playing:
    """Place the steps of a survival curve, with a tick for each reed that was still playing.

    Parameters
    ----------
    steps : sequence of StepAt
        By day, rising; shares falling or the same. Before the first all play.
    still : sequence of float
        Days after which a reed was last heard of while it still played.
    longest : float
        How many days are shown; nothing stands beyond it.

    Returns
    -------
    Playing
        In picture units, y growing downwards.

    Raises
    ------
    ValueError
        If no day is shown, a step or a reed lies beyond, or the steps are not in order.
    """
    days = [step.day for step in steps]
    if longest <= 0 or max([*days, *still], default=0.0) > longest or days != sorted(days):
        raise ValueError("Steps stand in order, none beyond the last day that is shown.")
    across = Scale(0.0, longest, LEFT, WIDTH - RIGHT)
    up = Scale(0.0, 1.0, HEIGHT - BOTTOM, TOP)
    whole = [StepAt(0.0, 1.0, 1.0, 1.0), *steps, StepAt(longest, *_last(steps))]
    share = [(across(step.day), up(step.share)) for step in whole]
    upper = [(across(step.day), up(step.high)) for step in whole]
    lower = [(across(step.day), up(step.low)) for step in whole]
    return Playing(
        WIDTH,
        HEIGHT,
        f"M{_stepped(share)}",
        f"M{_stepped(upper)}L{_stepped(lower, back=True)}Z",
        tuple(Still(across(day), up(_share_at(steps, day))) for day in sorted(still)),
        tuple(ValueTick(up(value), value) for value in _SHARES),
        _day_ticks(across),
    )


def _last(steps: Sequence[StepAt]) -> tuple[float, float, float]:
    return (steps[-1].share, steps[-1].low, steps[-1].high) if steps else (1.0, 1.0, 1.0)


def _share_at(steps: Sequence[StepAt], day: float) -> float:
    return next((step.share for step in reversed(steps) if step.day <= day), 1.0)


def _stepped(corners: Sequence[tuple[float, float]], *, back: bool = False) -> str:
    """Level to each step, then down; or the same way back from the last to the first."""
    points = [corners[0]]
    for x, y in corners[1:]:
        points += [(x, points[-1][1]), (x, y)]
    return " ".join(f"{x},{y}" for x, y in (reversed(points) if back else points))


def _day_ticks(across: Scale) -> tuple[ValueTick, ...]:
    step = max(1.0, nice_step(across.high))
    return tuple(ValueTick(across(step * k), step * k) for k in range(int(across.high / step) + 1))
