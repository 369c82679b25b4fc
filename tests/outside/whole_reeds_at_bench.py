"""Whole reeds with what was noted at the bench; see `whole_reeds` for what a row is."""

from __future__ import annotations

from reeds.numbers.words import Flexibility, Stage, Style
from tests.outside.whole_reeds import CPM, TIPS, Whole

SHAPED, TIED, BOUND = Stage.SHAPED, Stage.TIED, Stage.BOUND
SCRAPED, FINISHING = Stage.SCRAPED, Stage.FINISHING
LONG = Style.LONG
NO_WOOD = ("Scrape the", "Take a little", "Clip a little")
LEAKS = "a web article, '9 reasons why your oboe reeds are leaking'; the step common practice"
SEALING = "J. Ryon, 'A Brief Reed Making Guide': sealing comes first; the step from memory"

# what a hand that works by the book notes of a short scrape, CP; of the wire CPM
BY_THE_BOOK: dict[str, float | str | None] = {
    "fold_cut": "half", "edges": "rounded", "blades_lie": "flush", "tied_straight": "straight",
    "thread_force": "easy", "wire_turns": "two", "wire_place": 6.0, "wire_twist": "flat",
    "waxed_knotted": "both", "wire_off": "off", "bark_line": "v", "grain_lines": "lines",
    "sounds": "before", "corners": "alike", "tip_middle": "last",
}  # fmt: skip

AT_THE_BENCH = (
    Whole(name="by the book, noted to the last turn", noted=BY_THE_BOOK, never=("next reed",)),
    Whole(name="by the book and just scraped", stage=SCRAPED, noted=BY_THE_BOOK, never=("not yet",)),
    Whole(name="no wire, and still a good reed", stage=TIED, noted={"wire_turns": "none"}, never=("wire",),
          source=CPM),
    Whole(name="a fold cut deep, not tied yet", stage=SHAPED, noted={"fold_cut": "deep"}, asks=("fold_cut",),
          says=("the opening can stay too wide", "Close it by hand, soaked", "cut half through"),
          never=NO_WOOD),
    Whole(name="a fold cut deep, bound", stage=BOUND, noted={"fold_cut": "deep"}, asks=("fold_cut",),
          says=("Close it by hand",)),
    Whole(name="a fold cut deep, and the reed plays well", noted={"fold_cut": "deep"},
          never=("Close it by hand",)),
    Whole(name="a fold cut deep, and now it stands wide open",
          noted={"fold_cut": "deep", "opening_height": 1.5, "opening_area": 7.0}, asks=("opening_height",),
          says=("Close it by hand, soaked",), never=NO_WOOD),
    Whole(name="a fold that was not cut", stage=SHAPED, noted={"fold_cut": "uncut"}, never=("too wide",)),
    Whole(name="edges left square on a short scrape", stage=SHAPED, noted={"edges": "square"},
          says=("Round the edges of one blade",), never=NO_WOOD),
    Whole(name="edges left square, tied long since", noted={"edges": "square"}, never=("before it is tied",)),
    Whole(name="a blade slipped on a short scrape", stage=TIED, noted={"blades_lie": "slip"},
          says=("Press it back by hand",), never=NO_WOOD, source=CPM),
    Whole(name="a blade slipped on a long scrape", style=LONG, stage=TIED, noted={"blades_lie": "slip"},
          never=("Press it back", "flush"), source=CPM),
    Whole(name="blades with a gap", stage=TIED, noted={"blades_lie": "gap"}, asks=("blades_lie",),
          says=("there it leaks", "tie it again"), never=NO_WOOD, source=SEALING),
    Whole(name="blades with a gap on a long scrape", style=LONG, stage=BOUND, noted={"blades_lie": "gap"},
          asks=("blades_lie",), says=("Press the blades home",), never=NO_WOOD, source=SEALING),
    Whole(name="turned on the staple", stage=TIED, noted={"tied_straight": "turned"}, asks=("tied_straight",),
          says=("Tie it again, straight",), never=("next reed",), source=LEAKS),
    Whole(name="turned on the staple, and it leaks", stage=BOUND,
          noted={"tied_straight": "turned", "airtight": "no"}, asks=("airtight",),
          says=("Do not scrape on: bind it again",), never=("Tie it again, straight", *NO_WOOD),
          source=LEAKS),
    Whole(name="turned on the staple, and it plays", noted={"tied_straight": "turned"},
          never=("Tie it again",), source=LEAKS),
    Whole(name="wound with force", stage=TIED, noted={"thread_force": "forced"}, asks=("thread_force",),
          says=("wind them again without force",), never=NO_WOOD, source=TIPS),
    Whole(name="wound with force, and now it stands wide open",
          noted={"thread_force": "forced", "opening_height": 1.5, "opening_area": 7.0},
          asks=("opening_height",), says=("or the blades forced",), never=("wind them again", *NO_WOOD),
          source=TIPS),
    Whole(name="the twist of the wire at the side", stage=TIED, noted={"wire_twist": "side"},
          says=("Turn the wire until its twist lies on the flat side",)),
    Whole(name="waxed and not knotted", stage=BOUND, noted={"waxed_knotted": "waxed"},
          says=("can come loose", "Knot it"), never=NO_WOOD),
    Whole(name="knotted and not waxed", stage=BOUND, noted={"waxed_knotted": "knotted"}, never=("Knot it",)),
    Whole(name="the wire still on when it is bound", stage=BOUND, noted={"wire_off": "on"}, never=("wire",),
          source=CPM),
    Whole(name="the bark aslant", stage=SCRAPED, noted={"bark_line": "aslant"},
          says=("which side closes first",), never=NO_WOOD),
    Whole(name="scraped past the grain lines", stage=SCRAPED, noted={"grain_lines": "further"},
          asks=("grain_lines",), says=("Take nothing more off there",), never=NO_WOOD),
    Whole(name="scraped past the grain lines, and uneven", stage=SCRAPED,
          noted={"grain_lines": "further", "closing": "right_first", "unevenness": 0.4},
          asks=("grain_lines", "closing"), says=("speaks against it",), never=NO_WOOD),
    Whole(name="flexible cane scraped past the grain lines", stage=SCRAPED, feel=Flexibility.FLEXIBLE,
          noted={"grain_lines": "further"}, asks=("grain_lines",), says=("easily overdone",), never=NO_WOOD),
    Whole(name="past the grain lines long ago, and it plays", noted={"grain_lines": "further"},
          never=("Take nothing more off",)),
    Whole(name="not down to the grain lines yet", stage=SCRAPED, noted={"grain_lines": "not_yet"},
          never=("grain lines",)),
    Whole(name="it does not sound yet", stage=SCRAPED, noted={"sounds": "not_yet"},
          says=("Leave corners and tip until",), never=NO_WOOD),
    Whole(name="corners first, and only then it sounded", stage=SCRAPED, noted={"sounds": "after"},
          says=("For the next reed",), never=NO_WOOD),
    Whole(name="one corner thicker", stage=FINISHING, noted={"corners": "uneven"}, asks=("corners",),
          says=("Take a little from the thicker corner",), source=CPM),
    Whole(name="one corner thicker on a long scrape", style=LONG, stage=FINISHING,
          noted={"corners": "uneven"}, asks=("corners",), says=("from the thicker corner",), source=CPM),
    Whole(name="one corner thicker, and the left side later", stage=FINISHING,
          noted={"corners": "uneven", "closing": "right_first", "unevenness": 0.4},
          asks=("corners", "closing"), says=("Scrape the left side", "This waits. First: both sides"),
          never=("from the thicker corner",), source=CPM),
    Whole(name="corners not touched yet", stage=FINISHING, noted={"corners": "not_yet"}, never=("corner",)),
    Whole(name="the middle of the tip too early", stage=FINISHING, noted={"tip_middle": "early"},
          says=("do the corners first",), never=NO_WOOD),
)  # fmt: skip
