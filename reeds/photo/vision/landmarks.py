"""Where the landmarks of a reed on the card's field probably are, each only where it is sure."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from reeds.numbers.late import cv2, np
from reeds.photo.vision.arrays import Floats, Mask, floats
from reeds.photo.vision.camera import Solved, project
from reeds.photo.vision.field import Field
from reeds.photo.vision.lengths import Clicks
from reeds.photo.vision.sampling import grey_of, light_of, resample
from reeds.photo.vision.zones import zones

# own choices, no source: what is reed on the field, and what lengths and widths a reed can have
PRESENT_SCORE = 0.16  # of `field.Field.score`: 0 bare field, 0.3 or more for anything on it
LEAST_REED_MM = 40.0
LEAST_THING_MM2 = 25.0
REED_MM = (58.0, 84.0)
TIP_WIDTH_MM = (5.0, 8.6)
# a foot begins where its warmth has risen by this share of what its first metal shows: blur and a chat's
# coarse colours warm the field before it. On tests/raytraced, half `fix`: off by -0.01 +- 0.02 mm of 24
RISEN, FIRST_METAL_MM = 0.4, 0.5
# the last turn of thread stands over the bark and shades it: by 0.07 there, drawn ones by -0.04; the middle
THREAD_LATE_MM = 0.025
LEAST_UNLIKE = 0.2  # sine of the angle between two colours of light of which hue tells one from the other
LEAST_PART = 1e-4  # of each of two colours: below it is noise
LEAST_WARMTH = 0.15  # log of red over blue beyond the bare field's
LEAST_LIGHT = 0.02
LONGEST_SHADOW_MM = 7.0  # of the foot, on the field before it
FOOT_WIDTH_MM = (2.5, 8.2)
CORE_MM = (1.1, 0.3)  # half the width about the axis over which colours are averaged
# standard uncertainty of a proposal along the axis: a part in mm, that of the thing itself, and a part in px,
# that of the picture. Foot, thread's end and tip by 19 photos of tests/raytraced, half `fix`, and 16 drawn
# ones of a seed that is never reported; where the two disagree, the wider. The others by drawn ones alone
U_MM_AND_PX = {
    "staple_foot": (0.07, 0.40),
    "thread_end": (0.13, 0.38),
    "scrape_start": (0.30, 0.0),
    "back_start": (0.30, 0.0),
    "tip_start": (0.30, 0.0),
    "tip": (0.03, 0.60),
    "tip_left": (0.05, 0.36),
    "tip_right": (0.05, 0.36),
}


@dataclass(frozen=True)
class Lying:
    """A reed as it lies on the field, straightened: rows across, columns along.

    Attributes
    ----------
    score : (rows, columns) array
    light, rgb, lab : (rows, columns, 3) arrays
        Light and grey levels, 0 to 1, and CIE L*a*b*.
    px_per_mm : float
    middle : (2,) array
        A point of the axis in the cut, px; column 0 lies `start` px from it along `along`.
    along, across : (2,) arrays
        Unit vectors in the cut.
    start : float
    """

    score: Floats
    light: Floats
    rgb: Floats
    lab: Floats
    px_per_mm: float
    middle: Floats
    along: Floats
    across: Floats
    start: float

    def place(self, s: float, v: float) -> Floats:
        """Return the place in the cut, px, of column `s` and `v` px across the axis."""
        return floats(self.middle + (self.start + s) * self.along + v * self.across)


def propose_landmarks(field: Field, solved: Solved, factor: float) -> Clicks | None:
    """Propose landmarks.

    Parameters
    ----------
    field : Field
        The card's field as `field.cut_field` gives it.
    solved, factor
        Camera and printing factor, to go back to pixels.

    Returns
    -------
    Clicks or None
        Pixels of the upright picture with the doubt of each; only those that are sure. None where
        nothing as long as a reed lies on the field, or where the reed runs off it.
    """
    lying = _straighten(field)
    if lying is None or _runs_off(lying):
        return None
    found = _ends(lying)
    if {"staple_foot", "tip"} <= set(found):
        found |= _between(lying, found["staple_foot"][0], found["tip"][0])
    cut = {name: lying.place(s, v) for name, (s, v) in found.items()}
    flat = {name: field.to_card(p[:1], p[1:])[0] * factor for name, p in cut.items()}
    return _to_clicks(flat, solved)


def is_bare(field: Field) -> bool:
    """Tell whether nothing lies on the field that could be a part of a reed: nothing as large as its tip."""
    _, _, stats, _ = cv2.connectedComponentsWithStats((field.score > PRESENT_SCORE).astype(np.uint8))
    return not (stats[1:, cv2.CC_STAT_AREA] > LEAST_THING_MM2 * field.px_per_mm**2).any()


def _to_clicks(flat: dict[str, Floats], solved: Solved) -> Clicks:
    points, u_px = {}, {}
    for name, place in flat.items():
        near = floats([[*place, 0], [place[0] + 1, place[1], 0]])
        seen = project(solved.numbers, solved.frame, near)
        points[name] = (float(seen[0, 0]), float(seen[0, 1]))
        u_mm, u = U_MM_AND_PX[name]
        u_px[name] = float(np.hypot(u_mm * np.linalg.norm(seen[1] - seen[0]), u))
    return Clicks(points, u_px)


def _straighten(field: Field) -> Lying | None:
    body = _body(field)
    if body is None:
        return None
    rows, columns = np.nonzero(body)
    spots = np.column_stack([columns, rows]) + 0.5
    middle = spots.mean(axis=0)
    along = floats(np.linalg.svd((spots - middle)[:: max(1, len(spots) // 4000)], full_matrices=False)[2][0])
    along = along if along[0] > 0 else -along
    across = floats([-along[1], along[0]])
    if abs(along[1]) > 0.25:  # 15 degrees off the card's long side: laid across, or no reed
        return None
    reach = (spots - middle) @ along
    margin = 4 * field.px_per_mm
    start, stop = float(reach.min()) - margin, float(reach.max()) + margin
    half = round(6 * field.px_per_mm)
    s, v = np.meshgrid(np.arange(start, stop) + 0.5, np.arange(-half, half) + 0.5)
    x = middle[0] + s * along[0] + v * across[0] - 0.5
    y = middle[1] + s * along[1] + v * across[1] - 0.5
    light = resample(light_of(np.exp(field.log_rgb).clip(0, 255)), x, y, outside=0.0)
    rgb = grey_of(light) / 255
    lab = floats(cv2.cvtColor(rgb.astype(np.float32), cv2.COLOR_RGB2LAB))
    score = resample(field.score, x, y, outside=-1.0)
    return Lying(score, light / 255, rgb, lab, field.px_per_mm, middle, along, across, start)


def _body(field: Field) -> Mask | None:
    """Return the largest thing on the field that is as long as a reed, gaps along it closed."""
    small = max(1, round(0.4 * field.px_per_mm))
    seen = (field.score > PRESENT_SCORE).astype(np.uint8)
    present = cv2.morphologyEx(seen, cv2.MORPH_OPEN, np.ones((small, small), np.uint8))
    # a thread of the field's own colour parts the reed in two
    bridge = np.ones((1, round(20 * field.px_per_mm)), np.uint8)
    joined = cv2.morphologyEx(present, cv2.MORPH_CLOSE, bridge)
    _, labels, stats, _ = cv2.connectedComponentsWithStats(joined)
    long = [i for i in range(1, len(stats)) if stats[i, cv2.CC_STAT_WIDTH] > LEAST_REED_MM * field.px_per_mm]
    if not long:
        return None
    best = max(long, key=lambda i: int(stats[i, cv2.CC_STAT_AREA]))
    return np.asarray((labels == best) & (present > 0))


def _runs_off(lying: Lying) -> bool:
    """Tell whether either end of the reed lies beyond the field."""
    profile = _core(lying.score, lying.px_per_mm, 1.0)
    return any(_begin(way, lying.px_per_mm) is None for way in (profile, profile[::-1]))


def _ends(lying: Lying) -> dict[str, tuple[float, float]]:
    """Return foot, tip and the tip's corners as (column, offset across), px, where they are sure."""
    found: dict[str, tuple[float, float]] = {}
    profile = _core(lying.score, lying.px_per_mm, 1.0)
    colours = _core(lying.light, lying.px_per_mm, 1.0)
    foot = _foot(lying, profile)
    run, gap = max(2, round(lying.px_per_mm)), max(1, round(lying.px_per_mm / 3))
    near = _begin(profile[::-1], lying.px_per_mm)
    end = _half_way(colours[::-1], near, run, gap, _share_in_any_light)
    if foot is None or end is None:
        return found
    tip = len(profile) - end
    if not REED_MM[0] < (tip - foot) / lying.px_per_mm < REED_MM[1]:
        return found
    left, right = _sides(lying, foot + 0.5 * lying.px_per_mm, foot + 3 * lying.px_per_mm)
    if FOOT_WIDTH_MM[0] < (right - left) / lying.px_per_mm < FOOT_WIDTH_MM[1]:
        found["staple_foot"] = (foot, (left + right) / 2)
    left, right = _sides(lying, tip - 1.2 * lying.px_per_mm, tip - 0.3 * lying.px_per_mm)
    if TIP_WIDTH_MM[0] < (right - left) / lying.px_per_mm < TIP_WIDTH_MM[1]:
        found["tip"] = (tip, (left + right) / 2)
        found["tip_left"], found["tip_right"] = (tip, left), (tip, right)
    return found


def _core(values: Floats, px_per_mm: float, half_mm: float) -> Floats:
    """Return the mean over the rows within `half_mm` of the axis."""
    middle = values.shape[0] / 2
    half = max(1.0, half_mm * px_per_mm)
    return floats(values[int(middle - half) : int(middle + half)].mean(axis=0))


def _begin(profile: Floats, px_per_mm: float) -> int | None:
    """Return the first column of the reed, roughly; None where its end lies beyond the cut."""
    there = profile > PRESENT_SCORE
    run = max(2, round(1.0 * px_per_mm))
    steady = np.convolve(there, np.ones(run), "valid") >= run
    first = int(np.argmax(steady))
    return first if steady.any() and first >= 1 and profile[first - 1] >= 0 else None


def _foot(lying: Lying, profile: Floats) -> float | None:
    """Return the column of the foot's end.

    It is where the field's blue ends, whether in light or in the reed's own shadow, which is dark but blue:
    half the way from what is before it to the first metal. On a field without blue its unlikeness serves.
    """
    unit = lying.px_per_mm
    near = _begin(profile, unit)
    if near is None:
        return None
    colours = _core(lying.rgb, unit, 1.0)
    logs = np.log(np.maximum(colours, LEAST_LIGHT))
    warm = logs[:, 0] - logs[:, 2]
    warm = warm - np.median(warm[max(0, near - round(3 * unit)) : max(1, near - round(0.7 * unit))])
    reach = slice(max(0, near - round(unit)), near + round(LONGEST_SHADOW_MM * unit))
    steady = np.convolve(warm[reach] > LEAST_WARMTH, np.ones(3), "valid") >= 3
    if not steady.any():
        return _rise(profile, near, unit)
    first = _risen(warm, reach.start + int(np.argmax(steady)), max(3, round(FIRST_METAL_MM * unit)))
    run, gap = max(2, round(0.6 * unit)), max(1, round(0.2 * unit))
    return _half_way(_core(lying.light, unit, 1.0), first, run, gap, _share_by_hue)


def _risen(warm: Floats, first: int, run: int) -> int:
    """Return from where on, at or after a column, the warmth has risen by its share of the first metal's."""
    risen = warm[first:] >= RISEN * float(warm[first : first + run].max())
    return first + int(np.argmax(risen))


def _rise(profile: Floats, near: int | None, px_per_mm: float) -> float | None:
    """Return where a profile reaches half of what the first millimetre inside shows, px."""
    if near is None:
        return None
    level = float(np.median(profile[near : near + max(2, round(px_per_mm))])) / 2
    return _crossing(profile, level, near, round(px_per_mm))


def _share(colours: Floats, inside: Floats, outside: Floats) -> Floats:
    """Return how much of each of `colours`, (n, 3) light, is what lies inside, (n,); the rest is outside."""
    way = inside - outside
    return floats((colours - outside) @ way / float(way @ way))


def _share_in_any_light(colours: Floats, inside: Floats, outside: Floats) -> Floats:
    """Return the same where outside lies the reed's own shadow: that has the field's hue, and less light."""
    parts = _parts(colours, inside, outside)
    return _share(colours, inside, outside) if parts is None else floats(parts[0])


def _share_by_hue(colours: Floats, inside: Floats, outside: Floats) -> Floats:
    """Return the same where the thing itself grows dark too, as a staple's rim over its own shadow."""
    parts = _parts(colours, inside, outside)
    if parts is None:
        return _share(colours, inside, outside)
    return floats(np.maximum(parts[0], LEAST_PART) / np.maximum(parts, LEAST_PART).sum(axis=0))


def _parts(colours: Floats, inside: Floats, outside: Floats) -> Floats | None:
    """Return how much of inside and outside is in `colours`, (2, n), in any light; None if of one hue."""
    both = floats(np.stack([inside, outside]))
    least = LEAST_UNLIKE * float(np.prod(np.linalg.norm(both, axis=1)))  # 0 where one is pitch-dark
    if np.linalg.norm(np.cross(inside, outside)) <= least:
        return None
    return floats(np.linalg.lstsq(both.T, colours.T, rcond=None)[0])


def _half_way(
    colours: Floats, near: int | None, run: int, gap: int, share: Callable[..., Floats] = _share
) -> float | None:
    """Return where half of what `colours` (n, 3), light, shows is what lies inside, px, near a column.

    Inside and outside are the median over `run` columns that begin `gap` columns from it. Colours mix in
    proportion to the area covered, so half of each is the edge, whatever the blur.
    """
    if near is None:
        return None
    inside = np.median(colours[near + gap : near + gap + run], axis=0)
    outside = np.median(colours[max(0, near - gap - run) : max(1, near - gap)], axis=0)
    way = inside - outside
    return _crossing(share(colours, inside, outside), 0.5, near, run) if float(way @ way) > 1e-4 else None


def _crossing(profile: Floats, level: float, near: int, reach: int) -> float | None:
    """Return where a profile rises through a level, within `reach` columns of one, to a fraction."""
    for here in range(max(1, near - reach), min(len(profile), near + reach + 1)):
        if profile[here - 1] < level <= profile[here]:
            return here - 0.5 + float((level - profile[here - 1]) / (profile[here] - profile[here - 1]))
    return None


def _sides(lying: Lying, start: float, stop: float) -> tuple[float, float]:
    """Return the reed's two sides between two columns, px across the axis; nan, nan if there are none."""
    part = lying.score[:, max(0, int(start)) : max(1, int(np.ceil(stop)))]
    profile = np.median(part, axis=1)
    middle = len(profile) // 2
    level = max(PRESENT_SCORE / 2, float(np.median(profile[int(middle * 0.7) : int(middle * 1.3)])) / 2)
    if profile[middle] < level:
        return np.nan, np.nan
    up, down = middle, middle
    while up > 0 and profile[up - 1] > level:
        up -= 1
    while down < len(profile) - 1 and profile[down + 1] > level:
        down += 1
    if up == 0 or down == len(profile) - 1:
        return np.nan, np.nan
    first = up + 0.5 - (profile[up] - level) / (profile[up] - profile[up - 1])
    last = down + 0.5 + (profile[down] - level) / (profile[down] - profile[down + 1])
    return float(first - len(profile) / 2), float(last - len(profile) / 2)


def _between(lying: Lying, foot: float, tip: float) -> dict[str, tuple[float, float]]:
    """Return thread end and the starts of scrape, back and tip where they are sure."""
    wide, narrow = (_core(lying.lab, lying.px_per_mm, half) for half in CORE_MM)
    late = {"thread_end": THREAD_LATE_MM * lying.px_per_mm}
    found = zones(wide, narrow, lying.px_per_mm, foot, tip)
    return {name: (at - late.get(name, 0.0), 0.0) for name, at in found.items()}
