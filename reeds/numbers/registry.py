"""The registry of quantities: everything that is measured or seen on a reed, each described once."""

from __future__ import annotations

from dataclasses import replace

from reeds.numbers.bench import AT_BENCH, BenchItem
from reeds.numbers.quantity import BY_HAND, THICKNESS, Known, Quantity
from reeds.numbers.words import Method, Stage
from reeds.numbers.words import gettext_noop as _

_YES_NO = (("yes", _("yes")), ("no", _("no")))
_CLOSING = (
    ("left_first", _("the left side first")),
    ("together", _("both sides together")),
    ("right_first", _("the right side first")),
    ("middle_first", _("the middle before the sides")),
)
_CROW = (
    ("octaves", _("two octaves of C")),
    ("flat", _("lower")),
    ("sharp", _("higher")),
    ("wild", _("wild or loose")),
    ("none", _("no crow")),
)
_FROM_SCRAPING = (Stage.FINISHING, Stage.PLAYING)


def _thickness(key: str, name: str, low: float, high: float) -> Quantity:
    return Quantity(
        key=key,
        name=name,
        stage=Stage.FINISHING,
        low=low,
        high=high,
        decimals=2,
        method=Method.DIAL,
        methods=THICKNESS,
        optional=True,
        help=_("Wet, with the plaque in place, at the thinnest reading."),
    )


def _at_bench(item: BenchItem) -> Quantity:
    """A choice that is seen or, where it has none, a length."""
    seen = Quantity(
        key=item.key,
        name=item.name,
        unit="",
        stage=item.stage,
        kind="choice",
        choices=item.choices,
        method=Method.EYE,
        methods=(Method.EYE,),
        help=item.help,
        optional=True,
        at_bench=True,
        styles=item.styles,
    )
    if item.choices:
        return seen
    return replace(
        seen, unit="mm", kind="number", low=item.low, high=item.high, method=Method.RULER, methods=BY_HAND
    )


_ALL = (
    Quantity(
        key="tube_diameter",
        name=_("tube diameter"),
        stage=Stage.CANE,
        low=7.0,
        high=14.0,
        method=Method.CALIPER,
        help=_("Across the tube the cane was split from."),
    ),
    Quantity(
        key="gouge",
        name=_("gouge"),
        stage=Stage.CANE,
        low=0.3,
        high=0.9,
        decimals=2,
        method=Method.DIAL,
        methods=THICKNESS,
        help=_("Thickness of the gouged cane at the middle."),
    ),
    Quantity(
        key="gouged_length",
        name=_("length of the gouged cane"),
        stage=Stage.CANE,
        low=55.0,
        high=100.0,
        optional=True,
        help=_("The whole piece, before it is folded."),
    ),
    Quantity(
        key="end_thinned",
        name=_("end thinned"),
        stage=Stage.SHAPED,
        low=1.0,
        high=20.0,
        help=_("How far each end of the cane is thinned before tying."),
    ),
    Quantity(
        key="tip_width",
        name=_("width at the tip"),
        stage=Stage.SHAPED,
        low=4.0,
        high=10.0,
        method=Method.CALIPER,
        help=_("Width of the shaped cane at the fold."),
    ),
    Quantity(
        key="staple_length",
        name=_("staple length"),
        stage=Stage.TIED,
        low=38.0,
        high=52.0,
        help=_("From the foot, with its cork, to the end of the metal."),
    ),
    Quantity(
        key="cane_beyond_staple",
        name=_("cane beyond the staple"),
        stage=Stage.TIED,
        low=15.0,
        high=40.0,
        help=_("From the end of the staple to the fold, before the tip is cut."),
    ),
    Quantity(
        key="tie_length",
        name=_("tie length"),
        stage=Stage.TIED,
        low=55.0,
        high=90.0,
        help=_("From the foot of the staple to the fold."),
    ),
    Quantity(
        key="slip",
        name=_("slip"),
        stage=Stage.TIED,
        low=0.0,
        high=2.0,
        method=Method.CALIPER,
        help=_("How far one blade stands over the other at the side."),
    ),
    Quantity(
        key="airtight",
        name=_("airtight when closed"),
        unit="",
        stage=Stage.TIED,
        later=(Stage.BOUND,),
        kind="choice",
        choices=_YES_NO,
        method=Method.EYE,
        methods=(Method.EYE,),
        help=_("Close the sides lightly, close the foot, and blow: does any air pass?"),
    ),
    Quantity(
        key="thread_past_staple",
        name=_("thread past the end of the staple"),
        stage=Stage.BOUND,
        low=-8.0,
        high=8.0,
        help=_("From the end of the staple to the last turn: plus where the thread goes past it."),
    ),
    Quantity(
        key="cane_beyond_thread",
        name=_("cane beyond the thread"),
        stage=Stage.BOUND,
        low=10.0,
        high=40.0,
        method=Method.PHOTO,
        methods=(Method.PHOTO,),
        optional=True,
        help=_("From the last turn of the thread to the tip."),
    ),
    Quantity(
        key="rest",
        name=_("rest before scraping"),
        unit="days",
        spellings=("day", "d"),
        stage=Stage.BOUND,
        low=0.0,
        high=10000.0,
        methods=(),
        help=_("From tying to the first scraping; kept by the app."),
    ),
    Quantity(
        key="scrape_length",
        name=_("scrape length"),
        stage=Stage.SCRAPED,
        low=3.0,
        high=30.0,
        help=_("From the tip to where the bark begins, at the middle, as it is now: clips are added back."),
    ),
    Quantity(
        key="clipped",
        name=_("clipped in all"),
        stage=Stage.SCRAPED,
        low=0.0,
        high=15.0,
        methods=(),
        help=_("The sum of all clips; kept by the app."),
    ),
    Quantity(
        key="overall_length",
        name=_("overall length"),
        stage=Stage.FINISHING,
        later=(Stage.PLAYING,),
        low=50.0,
        high=85.0,
        help=_("From the foot of the staple to the tip."),
    ),
    Quantity(
        key="closing",
        name=_("closing under light finger pressure"),
        unit="",
        stage=Stage.SCRAPED,
        later=_FROM_SCRAPING,
        kind="choice",
        choices=_CLOSING,
        method=Method.EYE,
        methods=(Method.EYE,),
        help=_("Look into the tip, marked blade up, and press lightly: which side closes first?"),
    ),
    Quantity(
        key="tip_length",
        name=_("tip length"),
        stage=Stage.FINISHING,
        low=0.3,
        high=10.0,
        help=_("At the middle, from the edge to where the tip begins to be thicker."),
    ),
    Quantity(
        key="heart_length",
        name=_("heart length"),
        stage=Stage.FINISHING,
        low=0.5,
        high=15.0,
        help=_("From the end of the tip to the start of the back."),
    ),
    Quantity(
        key="back_length",
        name=_("back length"),
        stage=Stage.FINISHING,
        low=1.0,
        high=20.0,
        help=_("From the end of the heart to the bark."),
    ),
    Quantity(
        key="bark_length",
        name=_("bark left below the back"),
        stage=Stage.FINISHING,
        low=0.5,
        high=25.0,
        help=_("From the end of the staple to the start of the scrape."),
    ),
    Quantity(
        key="opening_height",
        name=_("opening height"),
        stage=Stage.PLAYING,
        low=0.05,
        high=4.0,
        decimals=2,
        method=Method.PHOTO,
        methods=(Method.PHOTO, Method.CALIPER, Method.RULER, Method.EYE),
        help=_("At the middle of the tip, soaked and at rest."),
    ),
    Quantity(
        key="opening_width",
        name=_("opening width"),
        stage=Stage.PLAYING,
        low=3.0,
        high=10.0,
        method=Method.PHOTO,
        methods=(Method.PHOTO, Method.CALIPER, Method.RULER),
        help=_("Across the tip, soaked and at rest."),
    ),
    Quantity(
        key="opening_area",
        name=_("opening area"),
        unit="mm²",
        spellings=("mm2", "mm^2", "sq mm"),
        stage=Stage.PLAYING,
        low=0.2,
        high=20.0,
        method=Method.PHOTO,
        methods=(Method.PHOTO,),
        help=_("From a photo into the tip, soaked and at rest."),
    ),
    Quantity(
        key="unevenness",
        name=_("unevenness of the opening"),
        unit="",
        stage=Stage.SCRAPED,
        later=_FROM_SCRAPING,
        low=-1.0,
        high=1.0,
        decimals=2,
        method=Method.PHOTO,
        methods=(Method.PHOTO,),
        help=_("(left - right) / (left + right) of the two halves' areas; plus: the left is more open."),
    ),
    Quantity(
        key="a4_cents",
        name=_("tuning note against the studio's A"),
        unit="cents",
        spellings=("cent", "c"),
        stage=Stage.PLAYING,
        low=-150.0,
        high=150.0,
        decimals=0,
        method=Method.RECORDING,
        methods=(Method.RECORDING, Method.EYE),
        u={Method.EYE: 3.0},  # a tuner's needle: common practice from memory, no source
        help=_("Plus is sharp. By eye: the mean of what the tuner shows."),
    ),
    Quantity(
        key="crow",
        name=_("crow"),
        unit="",
        stage=Stage.PLAYING,
        kind="choice",
        choices=_CROW,
        method=Method.EYE,
        methods=(Method.EYE, Method.RECORDING),
        optional=True,
        help=_("Lips on the thread, no tongue: what sounds?"),
    ),
    _thickness("thickness_tip_centre", _("thickness of the tip, middle"), 0.01, 0.4),
    _thickness("thickness_tip_corners", _("thickness of the tip, corners"), 0.01, 0.3),
    _thickness("thickness_heart", _("thickness of the heart"), 0.1, 0.9),
    _thickness("thickness_back", _("thickness of the back"), 0.1, 0.9),
    *(_at_bench(item) for item in AT_BENCH),
)

QUANTITIES: dict[str, Quantity] = {quantity.key: quantity for quantity in _ALL}

# what a studio knows that has nothing of its own; with its own: OwnQuantity.objects.known()
REGISTRY = Known(QUANTITIES)
