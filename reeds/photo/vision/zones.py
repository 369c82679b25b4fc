"""Where the colour changes along a reed: the ends of thread, bark, back and heart, by what a reed can be.

A reed's own edges divide two colours that both go on for millimetres. A wire or a hair across it is there and
gone: two opposite changes close together, of which neither is an edge. A fishskin shows through: the thread
ends under it in a third change between two others, or where it is as light as the thread, in none; then
nothing is told.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from reeds.numbers.late import np
from reeds.photo.vision.arrays import Floats, floats

# common practice, from memory: a long scrape is at least so long, and its back begins so far from the tip
LONG_SCRAPE_MM, BACK_MM = 15.0, (6.5, 13.5)
# own choices, no source, set on tests/raytraced, half `fix`: a band across is at most so wide, its two
# changes are opposite (cosine) and about as large (share)
BAND_MM = 1.6
OPPOSITE = -0.6
ALIKE = 0.5
# what lies so near the thread's end or a band is their own shade or halo
SHADE_MM = 1.4
LAST_TURNS_MM = 2.2
# thread before its end is of one colour at least so far, but for its last turns
EVEN_THREAD_MM = (9.0, 3.0)
# a change this large, in CIE units and as a share of the lesser of both ends, is no bark
RESTLESS, RESTLESS_SHARE = 4.6, 0.25
# where a scrape is longer than a short one, the bark left below it is short, and never as good as none:
# common practice, from memory
SHORT_SCRAPE_MM, LONG_BARK_MM, LEAST_BARK_MM = 13.5, 5.0, 1.8


@dataclass(frozen=True)
class ColourChange:
    """A change of colour along the reed: where, px, how large and which way, (3,), in CIE L*a*b*."""

    at: float
    size: float
    way: Floats


def zones(wide: Floats, narrow: Floats, unit: float, foot: float, tip: float) -> dict[str, float]:
    """Return the columns of thread end and the starts of scrape, back and tip, px, where they are sure.

    Parameters
    ----------
    wide, narrow : (n, 3) arrays
        CIE L*a*b* along the reed, averaged over a wide and over a narrow strip about its axis.
    unit : float
        Columns a millimetre.
    foot, tip : float
        Columns of the reed's ends.
    """
    found: dict[str, float] = {}
    steps = _edges(wide, unit, foot + 28 * unit, tip - 5.5 * unit, 1.0)
    start, stop = foot + 41 * unit, min(foot + 52 * unit, tip - 12 * unit)
    thread = _first_large([one for one in steps if start <= one.at < stop], 0.3, 8.0, unit)
    begin = (thread.at if thread else foot + 47 * unit) + 1.5 * unit
    scrape = _largest(_edges(narrow, unit, begin, tip - 7 * unit, 1.0), 7.0)
    if thread is not None and _is_even(steps, thread, unit) and _is_bark(steps, thread, scrape, tip, unit):
        found["thread_end"] = thread.at
        if scrape is not None:
            found["scrape_start"] = scrape.at
    edge = _largest(_edges(narrow, unit, tip - 5.5 * unit, tip - 1.3 * unit, 0.7), 6.0)
    if edge is not None:
        found["tip_start"] = edge.at
    if edge is not None and "scrape_start" in found:
        found |= _back(narrow, unit, found["scrape_start"], edge.at, tip)
    return found


def _is_even(steps: list[ColourChange], thread: ColourChange, unit: float) -> bool:
    """Tell whether nothing begins on the thread: a fishskin as light as it hides where it ends."""
    far, near = (thread.at - mm * unit for mm in EVEN_THREAD_MM)
    return not any(far < one.at < near and one.size >= RESTLESS for one in steps)


def _is_bark(
    steps: list[ColourChange], thread: ColourChange, scrape: ColourChange | None, tip: float, unit: float
) -> bool:
    """Tell whether what lies between two changes can be bark: as long as one leaves it, of one colour.

    A fishskin that begins before the thread's end and ends on the bark is neither; on a long scrape
    nothing changes any more but where its back begins.
    """
    last = tip - 7 * unit if scrape is None else scrape.at
    least = max(RESTLESS, RESTLESS_SHARE * min(thread.size, scrape.size if scrape else thread.size))
    if last - thread.at < LEAST_BARK_MM * unit or _between(steps, thread.at, last, unit, least):
        return False
    if scrape is None or tip - last <= SHORT_SCRAPE_MM * unit:
        return True
    near, far = (tip - mm * unit for mm in BACK_MM)
    on_scrape = [one for one in steps if last + SHADE_MM * unit < one.at < near and one.size >= RESTLESS]
    short_bark = last - thread.at <= LONG_BARK_MM * unit
    return short_bark and len(on_scrape) <= 1 and all(one.at >= far for one in on_scrape)


def _between(
    steps: list[ColourChange], start: float, stop: float, unit: float, least: float
) -> list[ColourChange]:
    """Return the large changes between two others, but for what is their own shade."""
    shade = SHADE_MM * unit
    return [one for one in steps if start + shade < one.at < stop - shade and one.size >= least]


def _edges(lab: Floats, unit: float, start: float, stop: float, window_mm: float) -> list[ColourChange]:
    """Return the changes between two columns that are edges: no part of a band across, nor its shade."""
    steps = _steps(lab, unit, start - BAND_MM * unit, stop + BAND_MM * unit, window_mm)
    bands = _bands(steps, unit)
    return [
        one
        for one in steps
        if start <= one.at <= stop and not any(_is_of(band, one, SHADE_MM * unit) for band in bands)
    ]


def _is_of(band: ColourChange, one: ColourChange, shade: float) -> bool:
    return one is band or (abs(one.at - band.at) < shade and one.size < ALIKE * band.size)


def _bands(steps: list[ColourChange], unit: float) -> list[ColourChange]:
    """Return the changes that belong to something narrow across the reed: there and gone."""
    found: list[ColourChange] = []
    for one, next_ in pairwise(steps):
        near = next_.at - one.at <= BAND_MM * unit
        alike = min(one.size, next_.size) >= ALIKE * max(one.size, next_.size)
        opposite = float(one.way @ next_.way) < OPPOSITE * one.size * next_.size
        if near and alike and opposite:
            found += [one, next_]
    return found


def _back(lab: Floats, unit: float, scrape: float, edge: float, tip: float) -> dict[str, float]:
    """Return the line between heart and back where one change of colour stands alone.

    Only on a scrape too long to be a short one.
    """
    if tip - scrape < LONG_SCRAPE_MM * unit:
        return {}
    start, stop = (
        max(scrape + 1.5 * unit, tip - BACK_MM[1] * unit),
        min(edge - 1.5 * unit, tip - BACK_MM[0] * unit),
    )
    steps = sorted(_steps(lab, unit, start, stop, 1.0), key=lambda s: -s.size)
    alone = bool(steps) and steps[0].size >= 6.0 and all(s.size < 0.4 * steps[0].size for s in steps[1:])
    return {"back_start": steps[0].at} if alone else {}


def _steps(lab: Floats, unit: float, start: float, stop: float, window_mm: float) -> list[ColourChange]:
    """Return the local peaks of colour change between two columns, in order."""
    window = max(2, round(window_mm * unit))
    total = np.vstack([np.zeros(3), np.cumsum(lab, axis=0)])
    at = np.arange(max(window, int(start)), min(len(lab) - window, int(stop)))
    if len(at) < 3:
        return []
    before, after = total[at] - total[at - window], total[at + window] - total[at]
    way = (after - before) / window
    size = np.linalg.norm(way, axis=1)
    peaks = [i for i in range(1, len(at) - 1) if size[i] >= size[i - 1] and size[i] > size[i + 1]]
    return [
        ColourChange(float(at[i]) + _vertex(size[i - 1 : i + 2]), float(size[i]), floats(way[i]))
        for i in peaks
    ]


def _vertex(three: Floats) -> float:
    """Return where the parabola through three neighbours peaks, from the middle one."""
    bend = three[0] - 2 * three[1] + three[2]
    return 0.0 if bend == 0 else float(np.clip(0.5 * (three[0] - three[2]) / bend, -0.5, 0.5))


def _first_large(steps: list[ColourChange], share: float, least: float, unit: float) -> ColourChange | None:
    """Return the first large change, or a larger one right behind it: before it lie the last turns' own."""
    largest = max((s.size for s in steps), default=0.0)
    first = next((s for s in steps if s.size >= max(share * largest, least)), None)
    if first is None:
        return None
    behind = [s for s in steps if first.at <= s.at <= first.at + LAST_TURNS_MM * unit]
    return max(behind, key=lambda s: s.size)


def _largest(steps: list[ColourChange], least: float) -> ColourChange | None:
    best = max(steps, key=lambda s: s.size, default=None)
    return best if best is not None and best.size >= least else None
