"""What a hand notes while it works, each a plain choice in words of the trade: rows of the registry.

The order of work is common practice without a source; the wire of the short scrape, two turns about 6 mm over
the thread, is common practice from memory.
"""

from __future__ import annotations

from typing import NamedTuple

from reeds.numbers.words import Stage, Style
from reeds.numbers.words import gettext_noop as _

_SHORT = (Style.SHORT,)


class BenchItem(NamedTuple):
    """One thing to note at the bench.

    Attributes
    ----------
    key, name, help : str
        As in `Quantity`; name and help are marked words.
    stage : Stage
        The stage at which it is asked, and at no other.
    choices : tuple of (value, marked label)
        At most 20 characters a value: it is what is stored. Empty for a length.
    styles : tuple of Style
        The scrapes whose work has it; empty for all.
    low, high : float
        Of a length, what is plausible, mm.
    """

    key: str
    name: str
    stage: Stage
    choices: tuple[tuple[str, str], ...]
    help: str
    styles: tuple[Style, ...] = ()
    low: float = 0.0
    high: float = 0.0


AT_BENCH: tuple[BenchItem, ...] = (
    BenchItem(
        "fold_cut",
        _("the fold"),
        Stage.SHAPED,
        (("half", _("half cut, closed by hand")), ("deep", _("cut deep")), ("uncut", _("not cut"))),
        _("Cut half through on the inside, then closed by hand, soaked."),
    ),
    BenchItem(
        "edges",
        _("edges of the blades"),
        Stage.SHAPED,
        (("rounded", _("one blade's rounded")), ("square", _("both left square"))),
        _("One blade's edges are rounded to fit inside the other."),
        _SHORT,
    ),
    BenchItem(
        "blades_lie",
        _("the blades lie"),
        Stage.TIED,
        (("flush", _("flush")), ("slip", _("one slipped")), ("gap", _("with a gap"))),
        _("Look at both sides where the edges meet."),
    ),
    BenchItem(
        "tied_straight",
        _("on the staple"),
        Stage.TIED,
        (("straight", _("straight")), ("turned", _("turned or leaning"))),
        _("Look along the staple: blades and staple in one line."),
    ),
    BenchItem(
        "thread_force",
        _("the last turns of the thread"),
        Stage.TIED,
        (("easy", _("without force")), ("forced", _("with force"))),
        _("The sides meet by themselves in the last turns."),
    ),
    BenchItem(
        "wire_turns",
        _("turns of wire"),
        Stage.TIED,
        (("none", _("no wire")), ("one", _("one")), ("two", _("two")), ("three", _("three"))),
        _("Two are usual where a wire is used."),
        _SHORT,
    ),
    BenchItem(
        "wire_place",
        _("wire over the thread"),
        Stage.TIED,
        (),
        _("From the last turn of the thread to the wire."),
        _SHORT,
        low=0.5,
        high=20.0,
    ),
    BenchItem(
        "wire_twist",
        _("twist of the wire"),
        Stage.TIED,
        (("flat", _("on the flat side")), ("side", _("at the side"))),
        _("The twist lies on the flat side, its end bent flat."),
        _SHORT,
    ),
    BenchItem(
        "waxed_knotted",
        _("end of the thread"),
        Stage.BOUND,
        (
            ("both", _("waxed and knotted")),
            ("knotted", _("only knotted")),
            ("waxed", _("only waxed")),
            ("neither", _("neither yet")),
        ),
        _("After the last turn, at the end of the staple."),
    ),
    BenchItem(
        "wire_off",
        _("the wire"),
        Stage.BOUND,
        (("off", _("off again")), ("on", _("still on"))),
        _("Off once the reed is bound."),
        _SHORT,
    ),
    BenchItem(
        "bark_line",
        _("line of the bark"),
        Stage.SCRAPED,
        (("v", _("in a V")), ("straight", _("straight across")), ("aslant", _("lower on one side"))),
        _("Where the scrape ends and the bark begins."),
        _SHORT,
    ),
    BenchItem(
        "grain_lines",
        _("scraped down"),
        Stage.SCRAPED,
        (
            ("lines", _("to the grain lines")),
            ("not_yet", _("not so far yet")),
            ("further", _("further than that")),
        ),
        _("Down to where the grain lines show, and no further."),
        _SHORT,
    ),
    BenchItem(
        "sounds",
        _("it sounds"),
        Stage.SCRAPED,
        (
            ("before", _("yes, corners untouched")),
            ("after", _("only after the corners")),
            ("not_yet", _("not yet")),
        ),
        _("Before corners and tip are touched."),
        _SHORT,
    ),
    BenchItem(
        "corners",
        _("corners of the tip"),
        Stage.FINISHING,
        (("alike", _("thinned alike")), ("uneven", _("one thicker")), ("not_yet", _("not touched yet"))),
        _("Both corners of both blades, once it sounds."),
    ),
    BenchItem(
        "tip_middle",
        _("middle of the tip"),
        Stage.FINISHING,
        (("last", _("left for last")), ("early", _("thinned too early"))),
        _("The tip is a triangle; its middle comes last."),
        _SHORT,
    ),
)
