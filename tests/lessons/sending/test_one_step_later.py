"""What came later and what was stored never hold two steps at once."""

import datetime as dt

import pytest
from django.utils import timezone

from lessons.sending.pages import SEE_LATER, Later
from reeds.checks.experiments import Blade, Side, Strokes, Zone
from reeds.checks.findings import Finding, Outcome
from reeds.reed import actions
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


def test_what_was_felt_before_strokes_leads_to_none_with_a_photo_measured_later(student):
    """The side that stayed open was scraped before the round was sent: it wants a new look at both."""
    now, hour = timezone.now(), dt.timedelta(hours=1)
    reed = make.ReedFactory(owner=student, stage="finishing", made_at=now - 99 * hour)
    row = make.sent_round(student, reed=reed, days=1)

    def noted(ago, **given):
        moments = {"at": now - ago * hour, "entered_at": now - ago * hour}
        reed.measurements.create(studio=reed.studio, by=student, stage="finishing", **moments, **given)

    noted(48, quantity="closing", word="right_first", method="eye")
    noted(0, quantity="unevenness", value=0.4, u=0.02, method="photo", photo=row.photos.get())
    assert "side:left" in {one.step_key for one in Later(row).checked}
    done = Strokes(3, Side.LEFT, Blade.BOTH, Zone.SCRAPE)
    actions.scrape_a_little(reed, student, done, now - 36 * hour)
    assert "side:left" not in {one.step_key for one in Later(row).checked}
