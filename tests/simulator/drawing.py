"""Believable reeds, round, their surface painted: metal foot, cork, tube, thread, bark, scrape and tip."""

from dataclasses import dataclass

import numpy as np

PX_PER_MM = 16.0
HALF_MM = 7.0
METALS = [(0.75, 0.75, 0.77), (0.55, 0.55, 0.58), (0.80, 0.68, 0.38), (0.86, 0.86, 0.84)]
CORKS = [(0.72, 0.55, 0.38), (0.80, 0.66, 0.48), (0.60, 0.44, 0.30)]
BARKS = [(0.80, 0.66, 0.30), (0.72, 0.58, 0.26), (0.83, 0.72, 0.42), (0.66, 0.52, 0.22)]
CANES = [(0.90, 0.82, 0.62), (0.86, 0.77, 0.55), (0.93, 0.87, 0.70)]
THREADS = [
    (0.75, 0.12, 0.15), (0.10, 0.15, 0.55), (0.08, 0.45, 0.20), (0.12, 0.12, 0.12), (0.92, 0.90, 0.86),
    (0.55, 0.15, 0.55), (0.90, 0.55, 0.10), (0.20, 0.60, 0.75), (0.85, 0.75, 0.15), (0.45, 0.30, 0.18),
]  # fmt: skip


@dataclass(frozen=True)
class ReedShape:
    """Places along the axis in mm from the foot, and widths; `back` is None on a short scrape."""

    cork: tuple
    thread: tuple
    scrape: float
    back: float | None
    tip_start: float
    length: float
    tip_width: float
    cork_half: float
    tube_half: float
    throat_half: float

    def marks(self):
        """Landmark name to (along, across), mm."""
        half = self.tip_width / 2
        found = {
            "staple_foot": (0, 0),
            "thread_end": (self.thread[1], 0),
            "scrape_start": (self.scrape, 0),
            "tip_start": (self.tip_start, 0),
            "tip": (self.length, 0),
            "tip_left": (self.length, -half),
            "tip_right": (self.length, half),
        }
        if self.back is not None:
            found["back_start"] = (self.back, 0)
        return {k: np.array(v, float) for k, v in found.items()}

    def crest(self, s):
        """How high over the axis the surface's middle line is at each place along it, mm."""
        thread = self.throat_half - 0.35
        places = [0, self.cork[1], self.thread[0], self.thread[1], self.thread[1] + 0.1, self.length]
        tube = self.tube_half
        out = np.interp(s, places, [tube, tube * 0.9, tube * 0.85, thread, thread - 0.15, 0.5])
        return np.where((s > self.cork[0]) & (s < self.cork[1]), self.cork_half, out)

    def over(self):
        """How high over the axis each landmark is drawn, mm; the tip's corners are on its level."""
        return {
            k: 0.0 if k[:4] == "tip_" and m[1] else float(self.crest(m[0])) for k, m in self.marks().items()
        }


def any_shape(rng):
    """A short-scrape reed two times in three, else a long-scrape one."""
    staple = rng.choice([45.0, 46, 47])
    length = staple + rng.uniform(23, 28)
    thread_end = staple + rng.uniform(-0.5, 0.7)
    if rng.random() < 2 / 3:
        scrape, back = length - rng.uniform(9.5, 12.5), None
        tip_start = length - rng.uniform(2, 3.2)
    else:
        scrape = thread_end + rng.uniform(2, 4)
        tip_start = length - rng.uniform(3, 5)
        back = tip_start - rng.uniform(4, 6)
    foot = rng.uniform(0.4, 2.5)
    return ReedShape(
        cork=(foot, rng.uniform(24, 28)),
        thread=(rng.uniform(29, 34), thread_end),
        scrape=scrape,
        back=back,
        tip_start=tip_start,
        length=length,
        tip_width=rng.uniform(6.5, 7.4),
        cork_half=rng.uniform(3.0, 3.6),
        tube_half=rng.uniform(2.55, 2.85),
        throat_half=rng.uniform(2.2, 2.7),
    )


def half_width(shape, s):
    """Half the reed's width at each place along it, mm."""
    tube = np.interp(
        s,
        [0, shape.cork[1], shape.thread[0]],
        [shape.tube_half, shape.tube_half * 0.9, shape.tube_half * 0.85],
    )
    thread = np.interp(s, shape.thread, [shape.tube_half * 0.95 + 0.2, shape.throat_half + 0.35])
    share = np.clip((s - shape.thread[1]) / (shape.length - shape.thread[1]), 0, 1)
    cane = shape.throat_half + (shape.tip_width / 2 - shape.throat_half) * share**0.8
    out = np.where(s > shape.thread[1], cane, np.where(s > shape.thread[0], thread, tube))
    return np.where((s > shape.cork[0]) & (s < shape.cork[1]), shape.cork_half, out)


def paint(shape, rng):
    """RGBA of the reed, float 0 to 1, PX_PER_MM; column 0 is 3 mm before the foot, rows from -HALF_MM."""
    s = np.arange(-3, shape.length + 3, 1 / PX_PER_MM)[None, :] + 0.5 / PX_PER_MM
    v = np.arange(-HALF_MM, HALF_MM, 1 / PX_PER_MM)[:, None] + 0.5 / PX_PER_MM
    half = half_width(shape, s)
    inside = (np.abs(v) <= half) & (s >= 0) & (s <= shape.length)
    colour = np.zeros((v.size, s.size, 3))

    def lay(mask, rgb):
        colour[np.broadcast_to(mask, inside.shape)] = rgb

    def pick(table):
        return np.clip(np.array(table[rng.integers(len(table))]) + rng.normal(0, 0.03, 3), 0, 1)

    bark, cane = pick(BARKS), pick(CANES)
    lay(s >= 0, pick(METALS))
    lay((s > shape.cork[0]) & (s < shape.cork[1]), pick(CORKS))
    lay((s > shape.thread[0]) & (s <= shape.thread[1]), pick(THREADS))
    lay(s > shape.thread[1], bark)
    v_shape = rng.uniform(0, 1.2)
    lay(s > shape.scrape + v_shape * np.abs(v), cane * rng.uniform(0.9, 1.0))
    if shape.back is not None:
        lay(s > shape.back - 0.2 * np.abs(v), cane * rng.uniform(0.80, 0.88))
    lay(s > shape.tip_start - rng.uniform(0, 0.5) * np.abs(v), np.clip(cane * rng.uniform(1.03, 1.1), 0, 1))
    _shade(colour, shape, s, v, half, rng)
    alpha = inside.astype(float)
    return np.dstack([np.clip(colour, 0, 1), alpha])


def _shade(colour, shape, s, v, half, rng):
    round_part = s <= shape.thread[1]
    across = np.clip(v / np.maximum(half, 0.1), -1, 1)
    lit = 0.45 + 0.6 * np.sqrt(np.clip(1 - (across - rng.uniform(-0.4, 0.4)) ** 2, 0, 1))
    flat = 0.85 + 0.15 * np.sqrt(np.clip(1 - across**2, 0, 1))
    colour *= np.where(round_part, lit, flat)[..., None]
    turns = 1 - rng.uniform(0.05, 0.3) * (0.5 + 0.5 * np.cos(2 * np.pi * s / rng.uniform(0.25, 0.45)))
    colour *= np.where((s > shape.thread[0]) & round_part, turns, 1)[..., None]
    shine = np.exp(-(((across - rng.uniform(-0.3, 0.3)) / 0.15) ** 2)) * rng.uniform(0, 0.4)
    metal = (s < shape.cork[0]) | ((s > shape.cork[1]) & (s < shape.thread[0]))
    colour += np.where(metal, shine, 0)[..., None]
    grain = rng.normal(0, 0.03, (v.size, 1))
    colour *= 1 + np.where(s > shape.thread[1], grain, 0)[..., None]
    specks = rng.normal(0, 0.06, colour.shape[:2])
    colour *= 1 + np.where((s > shape.cork[0]) & (s < shape.cork[1]), specks, 0)[..., None]
