"""From a reed's events to what the checks read."""

from datetime import timedelta

import pytest

from reeds.checks.findings import Outcome, spread
from reeds.numbers.words import Stage
from reeds.reed.facts import clips_of, facts_of, sheet_of
from reeds.reed.findings import findings_of
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.reed import EventKind, ReedEvent
from reeds.reed.resting import rested_before_scraping
from tests import factories as make
from tests.reeds.checks.make import at


def happened(hours, to_stage="", kind=EventKind.STAGE, **rest):
    return ReedEvent(kind=kind, at=at(hours), to_stage=to_stage, **rest)


@pytest.mark.parametrize(
    ("events", "hours"),
    [
        ([(0, "tied"), (1, "bound"), (25, "scraped")], 25),
        ([(0, "tied"), (400, "bound"), (403, "scraped")], 403),
        ([(0, "tied"), (20, "tied"), (21, "bound"), (25, "scraped")], 5),
        ([(0, "tied"), (30, "finishing")], 30),
        ([(0, "bound"), (3, "scraped"), (50, "bound"), (60, "scraped")], 3),
        ([(0, "scraped")], None),
        ([(0, "tied")], None),
        ([], None),
    ],
)
def test_the_rest_is_the_time_from_tying_to_the_first_scraping(events, hours):
    rest = rested_before_scraping(happened(*event) for event in events)
    assert rest == (None if hours is None else timedelta(hours=hours))


def test_only_clips_are_clips_and_each_has_its_doubt():
    clip = happened(2, kind=EventKind.CLIP, clip_mm=0.8, clip_u=0.2)
    (found,) = clips_of([happened(0, "tied"), clip])
    assert (found.amount.value, found.amount.u, found.when) == (0.8, 0.2, at(2))


@pytest.mark.django_db
def test_a_stored_reed_is_checked_as_it_stands():
    reed = make.ReedFactory(stage=Stage.TIED)
    common = {"studio": reed.studio, "reed": reed, "stage": "tied", "method": "ruler", "u": 0.2, "at": at(1)}
    Measurement.objects.create(quantity="tie_length", value=74.0, **common)
    Measurement.objects.create(quantity="cane_beyond_staple", value=27.0, **common)
    outcomes = {(one.quantity, one.outcome) for one in spread(findings_of(reed))}
    assert ("tie_length", Outcome.ABOVE) in outcomes
    assert ("tie_length", Outcome.CONTRADICTION) in outcomes
    assert ("cane_beyond_staple", Outcome.WITHIN) in outcomes


@pytest.mark.django_db
def test_a_reed_of_which_nothing_is_noted_has_facts_all_the_same():
    reed = make.ReedFactory(stage=Stage.TIED)
    facts = facts_of(reed, reed.owner)
    assert (facts.numbers, facts.clips, facts.staple_length) == ({}, (), 45.0)
    assert facts.may_act is reed.owner.may_act
    assert sheet_of(reed).limit_for("tie_length", 45.0).aim == 72.0
