"""The two starter sheets a new studio begins with: every row a default that the studio may change."""

from __future__ import annotations

from reeds.checks.findings import CP, CPM
from reeds.checks.sheet import Limit, Sheet
from reeds.checks.thread import SOURCE as THREAD
from reeds.numbers.words import Flexibility, Style
from reeds.numbers.words import gettext_noop as _

_ALIM = _("common practice for the aim, common practice from memory for the limits; no source")
_GOUGE = _("aim: common practice, no source; limits: a German reed-making guide, 0.55 to 0.60")
_AREA = _("aim: HyperPhysics, 'The Oboe', about 4 2/3 mm² at rest; limits: common practice from memory")
_SUM = _("arithmetic on the rows above")
_ONE_NIGHT = _("common practice, no source: at least one night, taken as half a day; weeks are usual")
_LONG_DEFINITIONS = _("aim: oboeinsight.com, 'Reed definitions'; limits: common practice from memory")


def _row(quantity: str, low: float | None, aim: float | None, high: float | None, source: str) -> Limit:
    return Limit(quantity=quantity, low=low, aim=aim, high=high, source=source)


def _on(staple: float, row: Limit) -> Limit:
    """The same row for one staple only."""
    return Limit(
        quantity=row.quantity, low=row.low, aim=row.aim, high=row.high, staple=staple, source=row.source
    )


def _moving(row: Limit, base: float, staples: tuple[float, ...]) -> tuple[Limit, ...]:
    """A row given for the staple `base`, moved for each staple by as much as the staple is longer, mm."""
    return tuple(_on(staple, row.moved(staple - base)) for staple in staples)


def _staples(staples: tuple[float, ...], source: str) -> tuple[Limit, ...]:
    """Each staple is wanted within 0.2 mm of its nominal length."""
    return tuple(
        _on(n, _row("staple_length", round(n - 0.2, 3), n, round(n + 0.2, 3), source)) for n in staples
    )


_SHORT_STAPLES = (45.0, 46.0, 47.0)
_LONG_STAPLES = (46.0, 47.0)

SHORT_SCRAPE = Sheet(
    Style.SHORT,
    (
        _row("tube_diameter", 10.0, 10.5, 11.0, CPM),
        _row("gouge", 0.55, 0.57, 0.60, _GOUGE),
        _row("end_thinned", 8.0, 9.0, 10.0, CP),
        _row("tip_width", 6.5, 7.0, 7.4, CPM),
        *_staples(_SHORT_STAPLES, _ALIM),
        _row("cane_beyond_staple", 26.0, 27.0, 28.0, _ALIM),
        *_moving(_row("tie_length", 71.0, 72.0, 73.0, CP), 45.0, _SHORT_STAPLES),
        Limit(quantity="airtight", choice="yes", source=CP),
        _row("thread_past_staple", -0.5, 0.0, 0.5, THREAD),
        _row("rest", 0.5, None, None, _ONE_NIGHT),
        _row("scrape_length", 10.5, 11.0, 11.5, _ALIM),
        Limit(
            quantity="scrape_length",
            low=11.5,
            aim=12.0,
            high=12.5,
            flexibility=Flexibility.HARD,
            source=_ALIM,
        ),
        _row("clipped", 0.5, 1.0, 1.5, _ALIM),
        _row("unevenness", -0.15, 0.0, 0.15, CPM),
        Limit(quantity="closing", choice="together", source=CP),
        *_moving(_row("overall_length", 69.5, 71.0, 72.5, _SUM), 45.0, _SHORT_STAPLES),
        _row("tip_length", 2.0, 2.5, 3.0, _ALIM),
        _row("opening_height", 0.5, 0.8, 1.2, CPM),
        _row("opening_area", 2.5, 4.67, 6.0, _AREA),
        _row("a4_cents", -10.0, 0.0, 10.0, CPM),
    ),
)

LONG_SCRAPE = Sheet(
    Style.LONG,
    (
        _row("gouge", 0.57, 0.59, 0.62, CPM),
        *_staples(_LONG_STAPLES, CPM),
        *_moving(_row("tie_length", 71.0, 72.0, 73.5, CPM), 47.0, _LONG_STAPLES),
        *(_on(mm, _row("cane_beyond_staple", 24.0, 25.0, 26.5, _SUM)) for mm in _LONG_STAPLES),
        _row("slip", 0.2, 0.3, 0.5, CPM),
        Limit(quantity="airtight", choice="yes", source=CP),
        _row("thread_past_staple", -0.5, 0.0, 0.5, THREAD),
        _row("rest", 0.5, None, None, _ONE_NIGHT),
        _row("unevenness", -0.15, 0.0, 0.15, CPM),
        Limit(quantity="closing", choice="together", source=_LONG_DEFINITIONS),
        _row("overall_length", 69.0, 70.0, 71.0, _LONG_DEFINITIONS),
        _row("tip_length", 3.0, 4.0, 5.0, _LONG_DEFINITIONS),
        _row("heart_length", 4.0, 5.0, 6.0, _LONG_DEFINITIONS),
        _row("back_length", 10.0, 11.0, 12.0, _LONG_DEFINITIONS),
        _row("bark_length", 2.0, 3.0, 4.0, _LONG_DEFINITIONS),
        Limit(quantity="crow", choice="octaves", source=CPM),
        _row("opening_area", 2.5, 4.67, 6.0, _AREA),
        _row("a4_cents", -10.0, 0.0, 10.0, CPM),
    ),
)

STARTERS: dict[Style, Sheet] = {Style.SHORT: SHORT_SCRAPE, Style.LONG: LONG_SCRAPE}
