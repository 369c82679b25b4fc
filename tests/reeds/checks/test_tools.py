"""Which tools can decide a row of the sheet."""

from reeds.numbers.words import Method
from reeds.sheet.starters import SHORT_SCRAPE
from tests.reeds.checks.make import row


def test_a_ruler_cannot_decide_a_staple_and_a_caliper_can():
    staple = SHORT_SCRAPE.limit_for("staple_length", 45.0)
    assert staple.able() == [Method.CALIPER]
    assert staple.unable() == [Method.RULER, Method.EYE]


def test_the_coarsest_tool_that_will_do_comes_first():
    tie = SHORT_SCRAPE.limit_for("tie_length", 45.0)
    assert tie.able() == [Method.EYE, Method.RULER, Method.CALIPER]


def test_a_studio_with_a_better_ruler_decides_more_with_it():
    staple = SHORT_SCRAPE.limit_for("staple_length", 45.0)
    assert Method.RULER in staple.able({Method.RULER: 0.1})


def test_the_doubt_of_clips_counts_whatever_the_tool():
    scrape = SHORT_SCRAPE.limit_for("scrape_length")
    assert scrape.able() == [Method.RULER, Method.CALIPER]
    assert scrape.able(u_clips=0.2) == [Method.CALIPER]
    assert scrape.able(u_clips=0.3) == []


def test_an_open_row_can_be_decided_by_every_tool():
    assert row("slip", 0.2).unable() == []


def test_photo_and_recording_are_not_told_beforehand():
    assert SHORT_SCRAPE.limit_for("opening_area").able() == []
    assert SHORT_SCRAPE.limit_for("opening_area").unable() == []
