"""Where the thread ends."""

from reeds.checks import thread
from reeds.checks.findings import Outcome
from reeds.checks.registry import run_checks
from reeds.numbers.words import Stage
from reeds.sheet.starters import SHORT_SCRAPE
from tests.reeds.checks.make import number, reed, step, words


def bound(mm, u=0.2):
    return reed(number("thread_past_staple", mm, u), stage=Stage.BOUND)


def test_a_thread_past_the_staple_is_told_as_a_length():
    (found,) = thread.check(bound(1.5), SHORT_SCRAPE)
    assert found.outcome is Outcome.ABOVE
    assert words(found) == "The thread goes 1.5 mm past the end of the staple."
    assert "choke" in step(found)
    assert "cut" in found.caution


def test_a_thread_short_of_the_staple_may_leak():
    (found,) = thread.check(bound(-1.5), SHORT_SCRAPE)
    assert found.outcome is Outcome.BELOW
    assert words(found) == "The thread ends 1.5 mm before the end of the staple."
    assert "leak" in step(found)


def test_a_thread_at_the_end_is_within_and_half_a_millimetre_too_close_to_call():
    assert thread.check(bound(0.0), SHORT_SCRAPE)[0].outcome is Outcome.WITHIN
    assert thread.check(bound(0.5), SHORT_SCRAPE)[0].outcome is Outcome.TOO_CLOSE


def test_the_thread_is_told_once():
    told = [one.check for one in run_checks(bound(1.5), SHORT_SCRAPE) if one.quantity == "thread_past_staple"]
    assert told == [thread.KEY]
