"""A step that takes something off as a small experiment: how much and where, then what to play."""

from __future__ import annotations

from dataclasses import dataclass

from reeds.numbers.words import Labelled, Style
from reeds.numbers.words import gettext_noop as _

# common practice from memory, no source: so few that one more hardly harms, so many that they are heard
STROKES = 3
MOST_STROKES = 40


class Side(Labelled):
    """On which side of a blade, looking into the tip with the marked blade up."""

    BOTH = "both", _("left and right")
    LEFT = "left", _("left")
    RIGHT = "right", _("right")
    MIDDLE = "middle", _("in the middle")
    THICKER = "thicker", _("on the thicker side")


class Blade(Labelled):
    """On which blade."""

    BOTH = "both", _("both blades")
    MARKED = "marked", _("the marked blade")
    OTHER = "other", _("the other blade")


class Zone(Labelled):
    """Where on the blade."""

    TIP = "tip", _("tip")
    CORNERS = "corners", _("corners of the tip")
    UNDER_TIP = "under_tip", _("just under the tip")
    HEART = "heart", _("sides of the heart")
    SCRAPE = "scrape", _("first scraped area, below the tip")
    LOWER = "lower", _("lower part of the scrape")
    BACK = "back", _("back")


@dataclass(frozen=True)
class Strokes:
    """What was scraped at one sitting: how many strokes on each place named, and where."""

    count: int
    side: Side
    blade: Blade
    zone: Zone


@dataclass(frozen=True)
class Experiment:
    """One row: what is done for a finding, and how one sees whether it helped.

    Attributes
    ----------
    style : Style
    finding : str
        The key of the usual next step, as in `next_steps.NEXT_STEPS`.
    then : str
        A marked sentence: what to play or to look at, and what to photograph.
    strokes : Strokes or None
        The same for the form; None for a clip.
    """

    style: Style
    finding: str
    then: str
    strokes: Strokes | None = None

    @property
    def how(self) -> str:
        """A marked sentence: how many strokes on which side of which blade, or how much is clipped."""
        return HOW[self.strokes.side] if self.strokes else ONE_CLIP


EACH_SIDE = _("Three strokes on each side, on both blades alike.")
LEFT_SIDE = _("Three strokes on the left, on both blades alike.")
RIGHT_SIDE = _("Three strokes on the right, on both blades alike.")
IN_THE_MIDDLE = _("Three strokes in the middle, on both blades alike.")
THICKER_SIDE = _("Three strokes on the thicker corner, on both blades alike.")
ONE_CLIP = _("One clip of at most 0.2 mm.")

LOOK_IN = _("Then press lightly: which side closes first? Photograph it into the tip.")
BLOW = _("Then blow: is it easier? Play the tuning note, and photograph it from above.")
CORNERS = _("Then hold it against the light and photograph it so: are the corners alike?")
LOW_NOTES = _("Then play the low notes softly, and photograph it from above.")
STACCATO = _("Then play the staccato, and photograph it from above.")
THIRD_OCTAVE = _("Then play the third octave, and photograph it from above.")
TUNING = _("Then play the tuning note beside your reference reed, measure the length, and photograph it.")
CROW = _("Then crow it and play the tuning note, measure the length, and photograph it.")

HOW = {
    Side.BOTH: EACH_SIDE,
    Side.LEFT: LEFT_SIDE,
    Side.RIGHT: RIGHT_SIDE,
    Side.MIDDLE: IN_THE_MIDDLE,
    Side.THICKER: THICKER_SIDE,
}


def _scrape(style: Style, finding: str, side: Side, zone: Zone, then: str) -> Experiment:
    return Experiment(style, finding, then, Strokes(STROKES, side, Blade.BOTH, zone))


def _clip(style: Style, finding: str, then: str) -> Experiment:
    return Experiment(style, finding, then)


EXPERIMENTS: tuple[Experiment, ...] = (
    _scrape(Style.SHORT, "side:left", Side.LEFT, Zone.SCRAPE, LOOK_IN),
    _scrape(Style.SHORT, "side:right", Side.RIGHT, Zone.SCRAPE, LOOK_IN),
    _scrape(Style.SHORT, "effort:hard", Side.BOTH, Zone.SCRAPE, BLOW),
    _scrape(Style.SHORT, "low_notes:low", Side.BOTH, Zone.LOWER, LOW_NOTES),
    _scrape(Style.SHORT, "staccato:low", Side.MIDDLE, Zone.TIP, STACCATO),
    _scrape(Style.SHORT, "third_octave:low", Side.BOTH, Zone.UNDER_TIP, THIRD_OCTAVE),
    _scrape(Style.SHORT, "corners:uneven", Side.THICKER, Zone.CORNERS, CORNERS),
    _scrape(Style.LONG, "corners:uneven", Side.THICKER, Zone.CORNERS, CORNERS),
    _clip(Style.SHORT, "flat_and_easy", TUNING),
    _clip(Style.LONG, "crow:flat", CROW),
    _scrape(Style.LONG, "crow:sharp", Side.BOTH, Zone.BACK, CROW),
    _clip(Style.LONG, "crow:wild", CROW),
    _scrape(Style.LONG, "effort:hard", Side.BOTH, Zone.TIP, BLOW),
    _scrape(Style.LONG, "sharp_and_hard", Side.BOTH, Zone.HEART, BLOW),
    _clip(Style.LONG, "flat_and_easy", TUNING),
    _clip(Style.LONG, "third_octave:low", THIRD_OCTAVE),
    _scrape(Style.LONG, "low_notes:low", Side.BOTH, Zone.BACK, LOW_NOTES),
    _scrape(Style.LONG, "staccato:low", Side.BOTH, Zone.CORNERS, STACCATO),
)

_BY_KEY = {(one.style, one.finding): one for one in EXPERIMENTS}


def experiment_for(style: Style, finding: str) -> Experiment | None:
    """Return the experiment that goes with a usual next step of a style, None where nothing is taken off."""
    return _BY_KEY.get((style, finding))
