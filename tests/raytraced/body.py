"""A reed as a solid on its own axes, mm: s along from the foot, y across, h up out of the marked blade."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[Any]
AROUND = np.linspace(0, 2 * np.pi, 721)[:-1]


@dataclass(frozen=True)
class Gap:
    """The opening at the tip: each lip's own curve over u, -1 (left, looking into the tip) to 1, mm.

    The upper lip is `share` of the height, `lean` makes one half higher, `bow` lifts the middle of both,
    `reach` is how much of the width is open, `power` how full the curve is.
    """

    height: float
    share: float = 0.5
    lean: float = 0.0
    bow: float = 0.0
    reach: float = 0.95
    power: float = 1.0
    lip: float = 0.1

    def opening(self, u: Array) -> Array:
        """Return the height of the gap."""
        inside = np.clip(1 - (np.abs(u) / self.reach) ** 2, 0, None)
        # the lean vanishes in the middle, so that the height there stays what it is said to be
        return np.asarray(self.height * inside**self.power * np.exp(-self.lean * u))

    def edges(self, u: Array) -> tuple[Array, Array]:
        """Return the upper and the lower lip's inner edge."""
        middle = self.bow * (1 - u**2)
        return middle + self.share * self.opening(u), middle - (1 - self.share) * self.opening(u)

    def lips(self, u: Array) -> Array:
        """Return how thick a lip is at the very tip."""
        return np.asarray(self.lip * (0.45 + 0.55 * (1 - u**2)))


@dataclass(frozen=True)
class Body:
    """The reed's measures, mm from the foot's plane along the axis, radii about it."""

    length: float
    thread: tuple[float, float]
    cork: tuple[float, float]
    cork_radii: tuple[float, float]
    foot_radius: float
    tube_radius: float
    gauge: float
    throat: tuple[float, float]
    tip_width: float
    scrape: float
    tip_start: float
    back: float | None
    curves: tuple[float, float, float]
    gap: Gap

    def width(self, s: Array) -> Array:
        """Return half the blades' width."""
        share = self._share(s)
        return np.asarray(self.throat[0] + (self.tip_width / 2 - self.throat[0]) * share**0.85)

    def crest(self, s: Array) -> Array:
        """Return half the height of the blades' oval, away from the tip's own shape."""
        share = self._share(s)
        least = self.gap.height / 2 + self.gap.lip + 0.12
        return np.asarray(least + (self.throat[1] - least) * (1 - share) ** 0.9)

    def _share(self, s: Array) -> Array:
        return np.clip((np.asarray(s, float) - self.thread[1]) / (self.length - self.thread[1]), 0, 1)

    def outer(self, s: Array, u: Array, side: int) -> Array:
        """Return the height of a blade's outside over the axis; side 1 is the marked one, -1 the other."""
        near, lip = self._near(s), self.gap.edges(u)[0 if side > 0 else 1]
        round_ = side * self.crest(s) * np.sqrt(np.clip(1 - u**2, 0, 1))
        return np.asarray(near * (lip + side * self.gap.lips(u)) + (1 - near) * round_)

    def inner(self, s: Array, u: Array, side: int) -> Array:
        """Return the height of a blade's inside."""
        near, lip = self._near(s), self.gap.edges(u)[0 if side > 0 else 1]
        hollow = self.crest(s) - np.interp(self._share(s), [0, 0.6, 1], [0.55, 0.45, 0.2])
        return np.asarray(near * lip + (1 - near) * side * hollow * np.sqrt(np.clip(1 - u**2, 0, 1)))

    def _near(self, s: Array) -> Array:
        return np.asarray(np.exp(-((self.length - np.asarray(s, float)) / 3.5)))

    def line(self, name: str, u: Array) -> Array:
        """Return s where a part of the scrape begins, across the blade."""
        at, bend = {
            "scrape_start": (self.scrape, self.curves[0]),
            "back_start": (self.back or self.scrape, self.curves[1]),
            "tip_start": (self.tip_start, self.curves[2]),
        }[name]
        return np.asarray(np.minimum(at + bend * u**2, self.length - 0.6))

    def along(self) -> dict[str, float]:
        """Return where each landmark lies along the axis."""
        found = {
            "staple_foot": 0.0,
            "thread_end": self.thread[1],
            "scrape_start": self.scrape,
            "tip_start": self.tip_start,
            "tip": self.length,
        }
        return found | ({} if self.back is None else {"back_start": self.back})

    def lengths(self) -> dict[str, float]:
        """Return the true lengths of the trade, mm along the axis."""
        at = self.along()
        found = {
            "tie_length": self.length,
            "overall_length": self.length,
            "scrape_length": self.length - self.scrape,
            "tip_length": self.length - self.tip_start,
            "bark_length": self.scrape - self.thread[1],
            "cane_beyond_thread": self.length - self.thread[1],
            "foot_to_thread_end": self.thread[1],
            "tip_width": self.tip_width,
        }
        if "back_start" in at:
            found |= {"heart_length": self.tip_start - at["back_start"]}
            found |= {"back_length": at["back_start"] - self.scrape}
        return found

    def ring(self, name: str) -> tuple[Array, Array]:
        """Return the closed curve that a landmark is, (n, 3), with the body's normals there, (n, 3)."""
        c, s = np.cos(AROUND), np.sin(AROUND)
        if name in ("staple_foot", "thread_end"):
            a, b = (self.foot_radius,) * 2 if name == "staple_foot" else self.last_turn()
            at = np.full_like(c, self.along()[name])
            return np.stack([at, a * c, b * s], 1), np.stack([0 * c, c / a, s / b], 1)
        at = np.full_like(c, self.length) if name == "tip" else self.line(name, c)
        h = np.where(s >= 0, self.outer(at, c, 1), self.outer(at, c, -1))
        rise = np.maximum(self.crest(at), 0.1)
        return np.stack([at, self.width(at) * c, h], 1), np.stack([0 * c, c / self.width(at), s / rise], 1)

    def last_turn(self) -> tuple[float, float]:
        """Return the half axes of the last turn's edge as one sees it: across and up."""
        return self.throat[0] + self.gauge / 2, self.throat[1] + self.gauge / 2

    def corners(self) -> dict[str, Array]:
        """Return the tip's corners, left as one looks from the foot to the tip, marked blade up."""
        half = self.tip_width / 2
        return {n: np.array([self.length, w * half, 0.0]) for n, w in (("tip_left", 1), ("tip_right", -1))}


def any_gap(rng: np.random.Generator) -> Gap:
    """Draw an opening."""
    return Gap(
        height=rng.uniform(0.35, 1.15),
        share=rng.uniform(0.4, 0.6),
        lean=rng.uniform(-0.45, 0.45),
        bow=rng.uniform(-0.15, 0.15),
        reach=rng.uniform(0.82, 0.97),
        power=rng.uniform(0.75, 1.3),
        lip=rng.uniform(0.07, 0.14),
    )


def any_body(rng: np.random.Generator) -> Body:
    """Draw a reed: a short scrape two times in three, else a long one."""
    end = rng.choice([45.0, 46.0, 47.0]) + rng.uniform(-0.5, 0.5)
    length = end + rng.uniform(22.5, 27.5)
    if rng.random() < 2 / 3:
        scrape, back, tip_start = length - rng.uniform(9, 12.5), None, length - rng.uniform(1.9, 3.2)
    else:
        scrape, tip_start = end + rng.uniform(2.5, 4.5), length - rng.uniform(3, 4.8)
        back = tip_start - rng.uniform(4, 6)
    foot = rng.uniform(2.6, 2.85)
    gauge = rng.uniform(0.26, 0.4)
    return Body(
        length=length,
        thread=(rng.uniform(29, 33), end),
        cork=(rng.uniform(0.3, 2.0), rng.uniform(24, 27)),
        cork_radii=(rng.uniform(3.15, 3.45), rng.uniform(3.0, 3.25)),
        foot_radius=foot,
        tube_radius=rng.uniform(1.55, 1.75),
        gauge=gauge,
        throat=(rng.uniform(2.2, 2.5), rng.uniform(1.85, 2.05)),
        tip_width=rng.uniform(6.5, 7.4),
        scrape=scrape,
        tip_start=tip_start,
        back=back,
        curves=(rng.uniform(-0.8, 1.4), rng.uniform(-0.4, 0.4), rng.uniform(-0.7, 0.2)),
        gap=any_gap(rng),
    )
