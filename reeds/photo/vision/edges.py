"""The gap's two edges, followed column by column in a picture turned level, whatever lies inside."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.polynomial import Polynomial

from reeds.photo.vision.arrays import Floats, Mask, floats
from reeds.photo.vision.lips import UNLIKE_LIPS
from reeds.photo.vision.refusal import PhotoRefused
from reeds.photo.vision.sampling import light_of, resample

# own choices, tried on tests/simulator and on tests/raytraced, half `fix`; no source
LIGHT = light_of(np.arange(256.0))
DEGREE = 5  # of an edge's curve
REACHES = (0.3, 0.22, 0.16, 0.12, 0.12, 0.12)  # how far an edge is looked for, shares of the height, in turn
LAST_REACH_PX, LAST_REACH = 3.0, 0.2
REACH_ON = 0.08  # how far beyond its ends the gap is looked for, shares of its length
LEAST_STEEP = 0.35  # of what the edge is elsewhere
PROFILE_PX = 24
LEAST_SEEN = 0.6  # of an edge must be seen, else it is no lip's
LOCAL = 7  # columns of a running median


@dataclass(frozen=True)
class Strip:
    """The gap's surroundings turned level, the gap darker than the blades, and the way back to the picture.

    `rgb` (rows, columns, 3) as the eye sees it, grey; `light` (rows, columns) the same in proportion to
    light, 0 to 255. `corner`, `along`, `across`, `step` give the place of its pixels.
    """

    rgb: Floats
    light: Floats
    corner: Floats
    along: Floats
    across: Floats
    step: float

    @property
    def grey(self) -> Floats:
        """Return its brightness as the eye sees it, (rows, columns)."""
        return floats(self.rgb[..., :2].mean(axis=2))

    def back(self, x: Floats, y: Floats) -> Floats:
        """Return places of the strip, px from its outer corner, as pixels of the picture, (n, 2)."""
        return floats(self.corner + self.step * (np.outer(x, self.along) + np.outer(y, self.across)))

    def into(self, places: Floats) -> tuple[Floats, Floats]:
        """Return places of the picture, (n, 2) px, as x and y of the strip."""
        off = (places - self.corner) / self.step
        return floats(off @ self.along), floats(off @ self.across)


@dataclass(frozen=True)
class Edges:
    """The gap in a strip, strip px: columns, upper and lower edge there, an edge's width and its doubt."""

    columns: Floats
    upper: Floats
    lower: Floats
    width: float
    u: float = 0.3

    def from_side(self, side: int) -> Edges:
        """Return the edges as walked in from the left (-1) or from the right (1) end."""
        way = slice(None) if side < 0 else slice(None, None, -1)
        return Edges(self.columns[way], self.upper[way], self.lower[way], self.width, self.u)


@dataclass(frozen=True)
class Curve:
    """One edge: its smooth curve, the places that were seen, (columns,) px, and which of them lie on it."""

    at: Polynomial
    seen: Floats
    on: Mask

    def places(self, x: Floats) -> Floats:
        """Return the edge as seen where it lies on the curve, elsewhere (light inside) the curve."""
        known = np.where(self.on, self.seen, self.at(x))
        padded = np.pad(known, LOCAL // 2, mode="edge")
        return floats(np.median(np.lib.stride_tricks.sliding_window_view(padded, LOCAL), axis=1))


@dataclass(frozen=True)
class Lip:
    """How an edge looks across: its blur (standard deviation), px, and how bright the lip is, 0 to 255."""

    blur: float
    bright: float

    @property
    def hidden(self) -> float:
        """How much of the gap a lip this bright hides, px: it burns out, and its blur with it."""
        return self.blur * float(np.interp(self.bright, BRIGHTS, HIDDEN))

    @property
    def u(self) -> float:
        """How unsure that is, px."""
        return self.blur * float(np.interp(self.bright, BRIGHTS, U_HIDDEN))


# of the blur, by the lip's brightness: set on tests/raytraced, half `fix`, 28 pictures
BRIGHTS = (210.0, 228.0, 240.0, 251.0, 253.0, 254.5)
HIDDEN = (0.05, 0.12, 0.27, 0.37, 0.6, 1.15)
U_HIDDEN = (0.08, 0.12, 0.15, 0.2, 0.3, 0.4)
# of the gap's height: a lit underside that passes for its lip, in 5 of those 28 by 2 to 5 %
U_UNDERSIDE = 0.025
# an edge wider than the other one is one that a lit underside smears: px of doubt for each px of blur more
SMEARED, U_SMEARED, MOST_SMEARED = 1.1, 3.0, 0.05


def follow(strip: Strip, hull: Floats) -> Edges:
    """Follow both edges of the gap.

    Parameters
    ----------
    strip : Strip
    hull : (n, 2) array
        Corners of the almond found coarsely, in order, px of the strip.

    Raises
    ------
    PhotoRefused
        If an edge is not seen along most of the gap.
    """
    upper, lower, ends = _roughly(hull)
    grey, light = strip.grey, strip.light
    # a shaded underside is as steep as its lip to the eye, and not in light: so by grey first, then by light
    for share, shown in (*((share, grey) for share in REACHES), (REACHES[-1], light)):
        x = _columns(ends)
        upper, lower = (curve.at for curve in _pair(shown, x, upper, lower, _reach(x, upper, lower, share)))
        ends = _ends(upper, lower, ends, light.shape[1])
    x = _columns(ends)
    last = floats(np.minimum(LAST_REACH_PX, _reach(x, upper, lower, LAST_REACH)))
    return _measured(light, x, *_pair(light, x, upper, lower, last))


def _pair(
    light: Floats, x: Floats, upper: Polynomial, lower: Polynomial, reach: Floats
) -> tuple[Curve, Curve]:
    return _curve(light, x, upper, -1, reach), _curve(light, x, lower, 1, reach)


def _measured(light: Floats, x: Floats, top: Curve, bottom: Curve) -> Edges:
    """Return the edges as far as both are seen, as wide as they are and with their doubt."""
    open_ = np.flatnonzero(top.on & bottom.on)
    if min(top.on.mean(), bottom.on.mean()) < LEAST_SEEN:
        raise PhotoRefused(UNLIKE_LIPS)
    part = slice(int(open_[0]), int(open_[-1]) + 1)
    lips = [_lip(light, x[part], curve, way) for curve, way in ((top, -1), (bottom, 1))]
    height = float((bottom.at(x) - top.at(x)).max())
    under = np.hypot(U_UNDERSIDE * height, min(_smeared(*lips), MOST_SMEARED * height))
    return Edges(
        x[part],
        (top.places(x) - lips[0].hidden)[part],
        (bottom.places(x) + lips[1].hidden)[part],
        2.5 * max(lip.blur for lip in lips),
        float(np.sqrt((sum(lip.u**2 for lip in lips) + under**2) / 2)),
    )


def _roughly(hull: Floats) -> tuple[Polynomial, Polynomial, tuple[float, float]]:
    """Return the hull's upper and lower side as curves, and where they meet."""
    left, right = int(np.argmin(hull[:, 0])), int(np.argmax(hull[:, 0]))
    turned = np.roll(hull, -left, axis=0)
    split = (right - left) % len(hull)
    one, other = turned[: split + 1], np.vstack([turned[split:], turned[:1]])[::-1]
    x = np.linspace(hull[left, 0], hull[right, 0], 200)
    rows = sorted((np.interp(x, side[:, 0], side[:, 1]) for side in (one, other)), key=lambda y: y.sum())
    upper, lower = (Polynomial.fit(x, y, 4) for y in rows)
    return upper, lower, (float(x[0]), float(x[-1]))


def _columns(ends: tuple[float, float]) -> Floats:
    return floats(np.arange(int(ends[0]), int(ends[1])) + 0.5)


def _reach(x: Floats, upper: Polynomial, lower: Polynomial, share: float) -> Floats:
    """Return how far from its curve an edge is looked for, px: not as far as the other edge."""
    gap = np.abs(lower(x) - upper(x))
    return floats(np.minimum(share * gap.max() + 2, 0.45 * gap + 2))


def _ends(upper: Polynomial, lower: Polynomial, ends: tuple[float, float], width: int) -> tuple[float, float]:
    """Return where the two curves meet, px, a little beyond what was known at most."""
    on = REACH_ON * (ends[1] - ends[0])
    x = np.arange(max(0.0, ends[0] - on), min(width - 1.0, ends[1] + on)) + 0.5
    closed = np.flatnonzero(lower(x) - upper(x) <= 1.0)
    middle = len(x) // 2
    first = int(closed[closed < middle].max(initial=-1)) + 1
    last = int(closed[closed > middle].min(initial=len(x))) - 1
    if last - first < 0.2 * width:
        raise PhotoRefused(UNLIKE_LIPS)
    return float(x[first] - 0.5), float(x[last] + 0.5)


def _across(light: Floats, x: Floats, at: Polynomial, way: int, off: Floats) -> Floats:
    """Return brightness across an edge, (columns, offsets), from inside the gap outwards."""
    rows = at(x)[:, None] + way * off[None] - 0.5
    return resample(light, np.broadcast_to(x[:, None] - 0.5, rows.shape), rows)


def _curve(light: Floats, x: Floats, at: Polynomial, way: int, reach: Floats) -> Curve:
    """Return an edge anew: where it brightens most in each column, and a curve through most of that."""
    most = int(np.ceil(reach.max())) + 1
    off = np.arange(-most, most + 1.0)
    rise = np.gradient(_across(light, x, at, way, off), axis=1)
    near = np.where(np.abs(off) <= reach[:, None] + 0.5, rise, -np.inf)
    best = np.argmax(near, axis=1)
    inside = np.clip(best, 1, len(off) - 2)
    before, here, after = (rise[np.arange(len(x)), inside + i] for i in (-1, 0, 1))
    bend = before - 2 * here + after
    between = np.where(bend < 0, 0.5 * (before - after) / np.where(bend < 0, bend, 1.0), 0.0)
    seen = at(x) + way * (off[inside] + np.clip(between, -1, 1))
    steep = here > LEAST_STEEP * np.median(here)
    return Curve(*_smooth(x, floats(seen), np.asarray(steep & (best == inside))))


def _smooth(x: Floats, y: Floats, steep: Mask) -> tuple[Polynomial, Floats, Mask]:
    """Return a curve through most places: Tukey's biweight, four times their usual distance at most."""
    weight = steep.astype(float)
    at = Polynomial.fit(x, y, DEGREE, w=weight + 1e-6)
    for _ in range(8):
        off = np.abs(y - at(x))
        scale = max(0.6, 1.48 * float(np.median(off[weight > 0.01]))) if (weight > 0.01).any() else 0.6
        weight = steep * np.clip(1 - (off / (4 * scale)) ** 2, 0, None) ** 2
        at = Polynomial.fit(x, y, DEGREE, w=np.sqrt(weight) + 1e-6)
    return at, y, np.asarray(weight > 0.1)


def _lip(light: Floats, x: Floats, curve: Curve, way: int) -> Lip:
    """Return how an edge looks across, in the middle of the gap."""
    middle = x[len(x) // 5 : -len(x) // 5]
    off = np.arange(-PROFILE_PX, PROFILE_PX + 1.0)
    profile = np.median(_across(light, middle, curve.at, way, off), axis=0)
    top = PROFILE_PX + _climbed(profile[PROFILE_PX:])
    steep = float(np.gradient(profile)[PROFILE_PX - 3 : PROFILE_PX + 4].max())
    height = float(profile[top] - profile[:PROFILE_PX].min())
    if steep <= 0:
        raise PhotoRefused(UNLIKE_LIPS)
    return Lip(height / steep / float(np.sqrt(2 * np.pi)), float(profile[top]))


def _smeared(one: Lip, other: Lip) -> float:
    """Return the doubt, px, of one edge being wider than the other."""
    less, more = sorted((one.blur, other.blur))
    return U_SMEARED * max(0.0, more - SMEARED * less)


def _climbed(profile: Floats) -> int:
    """Return after how many steps a profile rises no more."""
    return int(np.argmax(np.append(np.diff(profile) <= 0, True)))
