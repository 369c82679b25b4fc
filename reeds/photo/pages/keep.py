"""Which lengths of a photo make sense at a reed's stage, and what they become among the reed's numbers."""

from __future__ import annotations

from collections.abc import Mapping

from reeds.numbers.measured import Measured, u_of_limits
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import Method, Stage, Style
from reeds.numbers.words import gettext_noop as _
from reeds.photo.vision.lengths import LANDMARKS, LENGTHS
from reeds.reed.actions import Entry
from reeds.reed.facts import clips_of
from reeds.reed.models.reed import Reed

# a staple of nominal length lies within 0.2 mm of it: common practice from memory, no source
STAPLE_LIMITS_MM = 0.2
NAMES = {
    "staple_foot": _("foot of the staple"),
    "thread_end": _("end of the thread"),
    "scrape_start": _("start of the scrape"),
    "back_start": _("start of the back"),
    "tip_start": _("start of the tip"),
    "tip": _("tip"),
    "tip_left": _("left corner of the tip"),
    "tip_right": _("right corner of the tip"),
}
PLACES = {
    "staple_foot": _("The outermost edge of the metal tube's rim, in its middle; not the cork."),
    "thread_end": _("The last turn of thread towards the tip, where you see its edge, on the middle line."),
    "scrape_start": _("Where the bark ends, on the middle line."),
    "back_start": _("The line between heart and back, on the middle line."),
    "tip_start": _("Where the tip begins to be thicker, on the middle line."),
    "tip": _("The outermost edge, in its middle."),
    "tip_left": _("Left looking from foot to tip."),
    "tip_right": _("Right looking from foot to tip."),
}
# how wide the reed usually is where a point belongs, mm, so that a ring shows it at true scale: the metal
# tube's rim, the last turn of thread, the blades; common practice, from memory
WIDTHS_MM = {
    "staple_foot": 5.4,
    "thread_end": 5.0,
    "scrape_start": 6.2,
    "back_start": 6.6,
    "tip_start": 6.9,
    "tip": 7.0,
}
# length of the photo by quantity, where they are not called the same
TAKEN_FROM = {"thread_past_staple": "foot_to_thread_end"}


def quantities_for(reed: Reed) -> list[str]:
    """Return what a photo can tell of this reed as it stands, in the order shown."""
    stage, style = Stage(reed.stage), Style(reed.version.pattern.style)
    if stage.order < Stage.TIED.order:
        return ["tip_width"]
    whole = "overall_length" if _is_clipped(reed, stage) else "tie_length"
    found = [whole]
    if stage.order >= Stage.BOUND.order:
        found += ["thread_past_staple", "cane_beyond_thread"]
    if stage.order >= Stage.SCRAPED.order:
        found += ["scrape_length"]
    if stage.order >= Stage.FINISHING.order:
        found += ["tip_length"]
        found += ["heart_length", "back_length", "bark_length"] if style is not Style.SHORT else []
    return [*found, "tip_width"]


def _is_clipped(reed: Reed, stage: Stage) -> bool:
    if stage.order >= Stage.FINISHING.order:
        return True
    return stage is Stage.SCRAPED and bool(clips_of(reed.events.standing()))


def landmarks_for(quantities: list[str]) -> list[str]:
    """Return the landmarks these quantities need, from foot to tip."""
    needed = {name for key in quantities for name in LENGTHS[TAKEN_FROM.get(key, key)]}
    return [name for name in LANDMARKS if name in needed]


def staple_of(reed: Reed) -> Measured | None:
    """Return the staple's length: the newest measured, else the nominal one with its limits."""
    row = (
        reed.measurements.filter(quantity="staple_length", value__isnull=False).order_by("-at", "-pk").first()
    )
    if row is not None:
        return row.measured
    if reed.staple_length is None:
        return None
    return Measured(reed.staple_length, u_of_limits(STAPLE_LIMITS_MM))


def entries_from(
    lengths: Mapping[str, Measured], quantities: list[str], staple: Measured | None
) -> dict[str, Entry]:
    """Return each quantity that the lengths give, by its key.

    The thread's end is measured from the staple's hidden end, and so is the bark left below the back:
    both need the staple's length, and say so.
    """
    found = {}
    for key in quantities:
        measured = lengths.get(TAKEN_FROM.get(key, key))
        if measured is None:
            continue
        if key == "thread_past_staple":
            if staple is not None:
                found[key] = _entry(key, measured - staple, "staple_length")
        elif key == "bark_length" and staple is not None and "foot_to_thread_end" in lengths:
            bark = measured + (lengths["foot_to_thread_end"] - staple)
            found[key] = _entry(key, bark, "staple_length")
        else:
            found[key] = _entry(key, measured)
    return found


def _entry(key: str, measured: Measured, computed_from: str = "") -> Entry:
    return Entry(
        QUANTITIES[key], Method.PHOTO, value=measured.value, u=measured.u, computed_from=computed_from
    )


def is_plausible(entry: Entry) -> bool:
    """Tell whether the number can be right at all."""
    return entry.value is None or entry.quantity.low <= entry.value <= entry.quantity.high
