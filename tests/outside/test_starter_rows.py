"""The rows of the two starter sheets against the figures of the trade they were taken from.

S: a published source, named; the rest is common practice, no source (CP), or from memory (CPm). Sources:
a German reed-making guide for the gouge (limits 0.55 to 0.60, measured at the middle); oboe.net.au,
'Tips', for the thread; HyperPhysics, 'The Oboe', for the area of the opening (about 4 2/3 mm2 at rest);
oboeinsight.com, 'Reed definitions', for the zones of a long scrape on a reed of 70 mm.
"""

import pytest

from reeds.checks.facts import Clip, Reading, ReedFacts
from reeds.checks.findings import Outcome
from reeds.checks.registry import run_checks
from reeds.numbers.measured import Measured
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import Flexibility, Method, Moisture, Stage, Style
from reeds.sheet.starters import LONG_SCRAPE, SHORT_SCRAPE, STARTERS

SHORT_ROWS = [
    # quantity, low, aim, high, staple, flexibility, status
    ("gouge", 0.55, 0.57, 0.60, 45, None, "CP aim, S limits"),
    ("end_thinned", 8, 9, 10, 45, None, "CP"),
    ("staple_length", 44.8, 45, 45.2, 45, None, "CP, limits CPm"),
    ("staple_length", 45.8, 46, 46.2, 46, None, "CP, limits CPm"),
    ("staple_length", 46.8, 47, 47.2, 47, None, "CP, limits CPm"),
    ("cane_beyond_staple", 26, 27, 28, 45, None, "CP aim, CPm limits"),
    ("tie_length", 71, 72, 73, 45, None, "CP"),
    ("tie_length", 72, 73, 74, 46, None, "CP: moves with the staple"),
    ("tie_length", 73, 74, 75, 47, None, "CP: moves with the staple"),
    ("thread_past_staple", -0.5, 0, 0.5, 45, None, "S aim, CPm limits"),
    ("scrape_length", 10.5, 11, 11.5, 45, Flexibility.FLEXIBLE, "CP aim"),
    ("scrape_length", 10.5, 11, 11.5, 45, Flexibility.MEDIUM, "CP aim"),
    ("scrape_length", 11.5, 12, 12.5, 45, Flexibility.HARD, "CP aim"),
    ("clipped", 0.5, 1, 1.5, 45, None, "CP aim"),
    ("overall_length", 69.5, 71, 72.5, 45, None, "arithmetic"),
    ("overall_length", 70.5, 72, 73.5, 46, None, "arithmetic: moves with the staple"),
    ("tip_length", 2, 2.5, 3, 45, None, "CP aim"),
    ("unevenness", -0.15, 0, 0.15, 45, None, "CPm"),
    ("tube_diameter", 10, 10.5, 11, 45, None, "CPm"),
    ("opening_height", 0.5, 0.8, 1.2, 45, None, "CPm"),
    ("opening_area", 2.5, 4 + 2 / 3, 6, 45, None, "S aim, CPm limits"),
    ("tip_width", 6.5, 7.0, 7.4, 45, None, "CPm"),
    ("a4_cents", -10, 0, 10, 45, None, "CPm"),
]
LONG_ROWS = [
    ("gouge", 0.57, 0.59, 0.62, 47, None, "CPm"),
    ("staple_length", 45.8, 46, 46.2, 46, None, "CPm"),
    ("staple_length", 46.8, 47, 47.2, 47, None, "CPm"),
    ("tie_length", 71, 72, 73.5, 47, None, "CPm"),
    ("tie_length", 70, 71, 72.5, 46, None, "CPm: moves with the staple"),
    ("cane_beyond_staple", 24, 25, 26.5, 46, None, "CPm: the same cane on either staple"),
    ("slip", 0.2, 0.3, 0.5, 47, None, "CPm"),
    ("overall_length", 69, 70, 71, 47, None, "S in part"),
    ("tip_length", 3, 4, 5, 47, None, "S aim"),
    ("heart_length", 4, 5, 6, 47, None, "S aim"),
    ("back_length", 10, 11, 12, 47, None, "S aim"),
    ("bark_length", 2, 3, 4, 47, None, "S aim"),
]
ROWS = [(SHORT_SCRAPE, *row) for row in SHORT_ROWS] + [(LONG_SCRAPE, *row) for row in LONG_ROWS]
AIMS = [(sheet.style, row) for sheet in STARTERS.values() for row in sheet.limits if row.aim is not None]


@pytest.mark.parametrize(("sheet", "key", "low", "aim", "high", "staple", "feel", "status"), ROWS)
def test_a_starter_row_has_the_figures_of_the_trade(sheet, key, low, aim, high, staple, feel, status):
    limit = sheet.limit_for(key, staple, feel or Flexibility.MEDIUM)
    assert (limit.low, limit.high) == (low, high), status
    assert limit.aim == pytest.approx(aim, abs=0.005), status
    assert limit.source, "every row names its source, or that it has none"


def test_what_is_seen_has_the_wanted_choice():
    assert SHORT_SCRAPE.limit_for("airtight").choice == "yes"
    assert SHORT_SCRAPE.limit_for("closing").choice == "together"
    assert LONG_SCRAPE.limit_for("crow").choice == "octaves"


def test_rest_has_a_low_limit_only():
    limit = SHORT_SCRAPE.limit_for("rest")
    assert (limit.low, limit.aim, limit.high) == (0.5, None, None)


def at_aim(style, limit, measured, method):
    quantity = QUANTITIES[limit.quantity]
    stage = max(quantity.stage, Stage.FINISHING, key=lambda one: one.order)
    reading = Reading(
        quantity=limit.quantity, measured=measured, method=method, moisture=Moisture.WET, stage=stage
    )
    facts = ReedFacts(
        style=style,
        stage=stage,
        staple_length=limit.staple or (45.0 if style is Style.SHORT else 47.0),
        flexibility=limit.flexibility or Flexibility.UNKNOWN,
        numbers={limit.quantity: reading},
        clips=(Clip(measured),) if limit.quantity == "clipped" else (),
        may_act=True,
    )
    found = run_checks(facts, STARTERS[style])
    return [one for one in found if one.quantity == limit.quantity and one.outcome is not Outcome.MISSING]


@pytest.mark.parametrize("method", Method)
@pytest.mark.parametrize(("style", "limit"), AIMS)
def test_a_part_at_its_aim_is_never_called_outside_whatever_it_was_measured_with(style, limit, method):
    """Each tool's doubt, whether it suits the quantity or not; photo and recording: fine and very coarse."""
    doubts = [method.u_mm] if method.u_mm is not None else [0.0, 0.05, 0.5, 5.0]
    for u in doubts:
        found = at_aim(style, limit, Measured(limit.aim, u), method)
        assert len(found) == 1
        for one in found:
            assert not one.is_fault
            assert not one.irreversible
            assert one.outcome in (Outcome.WITHIN, Outcome.TOO_CLOSE, Outcome.UNDECIDABLE)


@pytest.mark.parametrize(("style", "limit"), AIMS)
def test_a_part_at_its_aim_and_measured_exactly_is_within(style, limit):
    (found,) = at_aim(style, limit, Measured(limit.aim), QUANTITIES[limit.quantity].method)
    assert found.outcome is Outcome.WITHIN


def tools(style, key, staple):
    """Which tools could call the row's aim within."""
    limit = STARTERS[style].limit_for(key, staple)
    usable = [(way, QUANTITIES[key].default_u(way)) for way in QUANTITIES[key].methods]
    return {
        way.value
        for way, u in usable
        if u is not None and at_aim(style, limit, Measured(limit.aim, u), way)[0].outcome is Outcome.WITHIN
    }


def test_which_tool_can_decide_which_row():
    """Own arithmetic: a range must be 3.92 u wide, and its aim 1.645 u from either limit."""
    assert tools(Style.SHORT, "tie_length", 45.0) == {"ruler", "caliper", "eye"}
    assert tools(Style.SHORT, "staple_length", 45.0) == {"caliper"}
    assert tools(Style.SHORT, "opening_height", 45.0) == {"caliper"}
    assert tools(Style.SHORT, "gouge", 45.0) == {"dial"}


def test_staple_and_cane_beyond_it_make_the_tie_length():
    """72 = 45 + 27 (CP); moved with the staple, 73 = 46 + 27 and 74 = 47 + 27."""
    for staple in (45.0, 46.0, 47.0):
        beyond = SHORT_SCRAPE.limit_for("cane_beyond_staple", staple).aim
        assert SHORT_SCRAPE.limit_for("tie_length", staple).aim == staple + beyond
    assert (
        LONG_SCRAPE.limit_for("tie_length", 47.0).aim
        == 47 + LONG_SCRAPE.limit_for("cane_beyond_staple", 47.0).aim
    )


def test_tie_length_less_the_clips_makes_the_overall_length():
    """72 - 1 = 71; at the extremes 71 - 1.5 = 69.5 and 73 - 0.5 = 72.5 (arithmetic)."""
    keys = ("tie_length", "clipped", "overall_length")
    tie, clips, overall = (SHORT_SCRAPE.limit_for(key, 45.0) for key in keys)
    assert overall.aim == tie.aim - clips.aim
    assert (overall.low, overall.high) == (tie.low - clips.high, tie.high - clips.low)


def test_the_zones_of_the_long_scrape_make_70():
    """47 + 3 + 11 + 5 + 4 = 70: oboeinsight.com, 'Reed definitions', on a 47 mm staple."""
    zones = ("staple_length", "bark_length", "back_length", "heart_length", "tip_length")
    assert sum(LONG_SCRAPE.limit_for(key, 47.0).aim for key in zones) == 70
    assert LONG_SCRAPE.limit_for("overall_length", 47.0).aim == 70


def whole_reed(style, staple, u):
    """A reed whose every number stands at its aim, measured with one doubt."""
    sheet = STARTERS[style]
    aims = {key: sheet.limit_for(key, staple) for key in sheet.keys}
    numbers = {
        key: Reading(
            quantity=key,
            measured=None if limit.aim is None else Measured(limit.aim, u),
            choice=limit.choice,
            moisture=Moisture.WET,
        )
        for key, limit in aims.items()
        if key not in ("clipped", "rest")
    }
    return sheet, numbers


@pytest.mark.parametrize("u", [0.0, 0.05, 0.2, 0.5])
@pytest.mark.parametrize(("style", "staple", "clipped"), [("short", 45.0, 1.0), ("long", 47.0, 2.0)])
def test_a_reed_at_all_its_aims_has_no_fault_and_no_contradiction(style, staple, clipped, u):
    sheet, numbers = whole_reed(Style(style), staple, u)
    facts = ReedFacts(
        style=Style(style),
        stage=Stage.PLAYING,
        staple_length=staple,
        numbers={key: one for key, one in numbers.items() if key != "scrape_length"},
        clips=(Clip(Measured(clipped, u)),),
        may_act=True,
    )
    for one in run_checks(facts, sheet):
        assert not one.is_fault, one
        assert one.outcome is not Outcome.CONTRADICTION, one
