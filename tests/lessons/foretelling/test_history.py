"""What is read of a studio's reeds: only what was known at the moment looked at."""

from __future__ import annotations

import datetime as dt

import pytest
from django.utils import timezone

from lessons.foretelling.history import History
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.playing import PlayingTest, Rating
from reeds.reed.models.reed import ReedEvent
from reeds.sheet.models.pattern import Offset
from tests import factories as make

pytestmark = pytest.mark.django_db
TIED, SCRAPED, PLAYING = 30.0, 20.0, 15.0  # days ago


def ago(days):
    return timezone.now() - dt.timedelta(days=days)


def step(reed, stage, days):
    ReedEvent.objects.create(
        studio=reed.studio, reed=reed, by=reed.owner, kind="stage", to_stage=stage, at=ago(days)
    )


def number(reed, quantity, value, days, *, stage="tied", u=0.05, word=""):
    Measurement.objects.create(
        studio=reed.studio,
        reed=reed,
        quantity=quantity,
        value=value,
        u=None if value is None else u,
        word=word,
        method="caliper",
        stage=stage,
        by=reed.owner,
        at=ago(days),
    )


def tried(reed, days, *speaks, effort=None):
    test = PlayingTest.objects.create(
        studio=reed.studio, reed=reed, by=reed.owner, at=ago(days), effort=effort
    )
    for item, rating in zip(("crow", "staccato"), speaks, strict=False):
        Rating.objects.create(studio=reed.studio, test=test, item=item, speaks=rating)


@pytest.fixture
def reed(student):
    """A reed that was tied, scraped and plays."""
    version = make.VersionFactory(pattern__studio=student.studio)
    row = make.ReedFactory(
        owner=student, version=version, stage="playing", shape="Wide ", flexibility="hard", number=777
    )
    step(row, "tied", TIED)
    step(row, "scraped", SCRAPED)
    step(row, "playing", PLAYING)
    return row


def blank_of(reed):
    (row,) = History(reed.studio_id).blanks
    return row


def test_it_lies_off_the_aim_of_its_own_sheet_with_its_players_offset(reed, teacher):
    number(reed, "tie_length", 72.9, 29)
    number(reed, "thread_past_staple", -0.3, 28, stage="bound", u=0.2)
    Offset.objects.create(studio=reed.studio, student=reed.owner, quantity="tie_length", delta=0.5)
    row = blank_of(reed)
    assert row.tie == pytest.approx((0.4, 0.05))
    assert row.thread == pytest.approx((-0.3, 0.2))
    assert (row.number, row.student, row.plays) == (777, reed.owner_id, True)
    assert (row.shape, row.flexibility, row.staple_length) == ("wide", "hard", 45.0)
    assert row.rested_days == pytest.approx(TIED - SCRAPED, abs=0.01)


def test_what_was_measured_after_scraping_never_enters(reed):
    number(reed, "airtight", None, 29, word="no")
    number(reed, "tie_length", 72.1, 29)
    number(reed, "airtight", None, SCRAPED - 1, word="yes")
    number(reed, "tie_length", 73.0, SCRAPED - 1)
    number(reed, "tie_length", 74.0, 29, stage="finishing")
    row = blank_of(reed)
    assert row.airtight is False
    assert row.tie.value == pytest.approx(0.1)


def test_a_leak_that_was_mended_before_scraping_is_none(reed):
    number(reed, "airtight", None, 29, word="no")
    number(reed, "airtight", None, 28, stage="bound", word="yes")
    assert blank_of(reed).airtight is True


def test_how_the_cane_felt_counts_as_it_was_told_before_scraping(reed):
    felt = {"studio": reed.studio, "reed": reed, "by": reed.owner, "kind": "feel"}
    ReedEvent.objects.create(feel="hard", at=ago(SCRAPED - 2), **felt)
    assert blank_of(reed).flexibility == ""
    ReedEvent.objects.create(feel="medium", at=ago(SCRAPED + 1), **felt)
    assert blank_of(reed).flexibility == "medium"


def test_a_number_nobody_noted_is_none_and_the_gouge_of_its_lot_will_do(reed):
    row = blank_of(reed)
    assert (row.tie, row.airtight, row.gouge) == (None, None, None)
    reed.cane = make.CaneFactory(owner=reed.owner, gouge=0.6)
    reed.save()
    assert blank_of(reed).gouge == pytest.approx((0.03, 0.01))
    number(reed, "gouge", 0.56, 40, stage="cane", u=0.02)
    assert blank_of(reed).gouge == pytest.approx((-0.01, 0.02))


def test_a_blank_given_up_before_it_was_scraped_teaches_nothing(reed):
    other = make.ReedFactory(owner=reed.owner, version=reed.version, stage="given_up")
    step(other, "tied", 9)
    step(other, "given_up", 5)
    history = History(reed.studio_id)
    assert [row.reed for row in history.blanks] == [reed.pk]
    assert history.given_up_before == 1


def test_a_reed_given_up_scraped_did_not_come_to_play_and_one_on_its_way_is_not_known(reed):
    lost = make.ReedFactory(owner=reed.owner, version=reed.version, stage="given_up")
    step(lost, "scraped", 9)
    step(lost, "given_up", 5)
    make.ReedFactory(owner=reed.owner, version=reed.version, stage="finishing")
    assert {row.reed: row.plays for row in History(reed.studio_id).blanks} == {
        reed.pk: True,
        lost.pk: False,
    }


def test_model_reeds_reeds_taken_out_and_other_studios_are_not_there(reed):
    version = {"owner": reed.owner, "version": reed.version}
    make.ReedFactory(stage="playing", is_model=True, **version)
    make.ReedFactory(stage="playing", taken_out_at=timezone.now(), **version)
    make.ReedFactory(stage="playing")
    assert blank_of(reed).reed == reed.pk


def test_blanks_at_rest_rest_until_now_the_longest_first(reed):
    for days in (3, 12):
        step(make.ReedFactory(owner=reed.owner, version=reed.version, stage="tied"), "tied", days)
    rested = [row.rested_days for row in History(reed.studio_id).resting]
    assert rested == pytest.approx([12, 3], abs=0.01)


def test_the_first_test_counts_where_it_was_made_scraped_and_not_yet_playing(reed):
    tried(reed, SCRAPED + 1, 1, 1)
    tried(reed, PLAYING + 1, 2, 3, effort=4)
    tried(reed, PLAYING + 0.5, 5, 5)
    (row,) = History(reed.studio_id).tried
    assert (row.speaks, row.effort, row.plays) == (2.5, 4, True)


def test_a_test_of_a_reed_that_plays_tells_nothing_of_whether_it_will(reed):
    tried(reed, PLAYING - 1, 5, 5)
    history = History(reed.studio_id)
    assert history.tried == []
    assert history.blanks[0].speaks is None


def test_a_reed_tried_and_not_yet_playing_is_on_the_way(reed):
    other = make.ReedFactory(owner=reed.owner, version=reed.version, stage="finishing")
    step(other, "scraped", 5)
    tried(other, 4, 3)
    assert [row.reed for row in History(reed.studio_id).on_the_way] == [other.pk]


def test_as_many_queries_for_one_reed_as_for_many(reed, django_assert_num_queries):
    for _ in range(5):
        step(make.ReedFactory(owner=reed.owner, version=reed.version, stage="playing"), "scraped", 4)
    history = History(reed.studio_id)
    with django_assert_num_queries(8):
        assert len(history.blanks) == 6
        assert history.tried == history.resting == []
