"""What came later and what was stored never hold two steps at once."""

import pytest

from lessons.sending.pages import SEE_LATER, Later
from reeds.checks.findings import Finding, Outcome
from tests import factories as make

STORED = {"irreversible": True, "next_step": "Clip a little.", "caution": "Mind the tip."}


@pytest.fixture
def later(student):
    """Return a function that gives a round whose checks find these things now, and found `stored` then."""

    def made(now, stored):
        row = make.sent_round(student, findings=[make.finding("above", quantity="tie_length", **stored)])
        made = Later(row)
        made.findings = now
        return made

    return made


def found(**given):
    return Finding(check="recorded", outcome=Outcome.BELOW, message="It is late.", **given)


@pytest.mark.parametrize("kind", ["irreversible", "waits"])
def test_a_stored_step_waits_where_what_came_later_takes_something_off(later, kind):
    rows = later([found(next_step="Scrape.", **{kind: True})], STORED).stored
    assert [(one.message, one.next_step, one.caution) for one in rows] == [("It is above.", SEE_LATER, "")]
    assert not rows[0].irreversible


@pytest.mark.parametrize(
    ("now", "stored"),
    [
        ([], STORED),
        ([found(next_step="Measure again.")], STORED),
        ([found(next_step="Scrape.", irreversible=True)], {"next_step": "Measure again."}),
    ],
)
def test_else_what_was_stored_stays_as_it_was_shown(later, now, stored):
    one = later(now, stored)
    assert one.stored == one.submission.found


def test_both_pages_show_it_so(later, as_member, student, teacher, monkeypatch):
    row = later([], STORED).submission
    monkeypatch.setattr(Later, "findings", [found(next_step="Scrape.", irreversible=True)])
    for who, name in ((student, "round"), (teacher, "review")):
        text = as_member(who).get(who.to(f"lessons:{name}", row.pk)).content.decode()
        assert "First see what came later." in text
        assert "Clip a little.</" not in text
        assert "Mind the tip." not in text
