"""The next round shows what changed: what was taken off, and numbers, ratings and takes before and after."""

from __future__ import annotations

import datetime as dt

import pytest
from django.utils import timezone

from lessons.answering.pages.changed import Changed
from reeds.checks.experiments import Blade, Side, Strokes, Zone
from reeds.numbers.measured import Measured
from reeds.reed import actions
from tests import factories as make
from tests.reeds.timeline.test_strokes import played

HOUR = dt.timedelta(hours=1)
THREE = Strokes(3, Side.LEFT, Blade.BOTH, Zone.SCRAPE)


@pytest.fixture
def two(student):
    """Two rounds of one reed, an hour apart."""
    now = timezone.now()
    reed = make.ReedFactory(owner=student, stage="finishing", made_at=now - 9 * HOUR)
    first, second = (
        make.SubmissionFactory(reed=reed, round=n, stage="finishing", sent_at=now - (3 - n) * HOUR)
        for n in (1, 2)
    )
    return first, second


def number(row, value, u=0.05, quantity="overall_length"):
    return row.measurements.create(
        studio=row.studio, reed=row.reed, by=row.student, quantity=quantity, value=value, u=u,
        method="caliper", stage="finishing", at=row.sent_at,
    )  # fmt: skip


def test_what_was_taken_off_between_the_two_is_told(two, student, as_member):
    first, second = two
    between = first.sent_at + HOUR / 2
    actions.scrape_a_little(first.reed, student, THREE, between)
    actions.clip(first.reed, student, Measured(0.2, 0.05), second.sent_at + HOUR / 4)
    assert [row.scraped for row in Changed(second, student).work] == [THREE]
    page = as_member(student).get(student.to("lessons:round", second.pk)).content.decode()
    assert "Since round 1" in page
    assert "3 strokes left" in page


def test_a_number_changed_only_where_it_differs_by_more_than_the_doubt(two, student):
    first, second = two
    number(first, 70.0)
    number(second, 69.8)
    (one,) = Changed(second, student).numbers
    assert one.by.value == pytest.approx(-0.2)
    assert one.by.u == pytest.approx(0.05 * 2**0.5)
    assert one.is_seen
    number(second, 69.9)  # 1.4 joint u: nobody can tell
    assert not Changed(second, student).numbers[0].is_seen


def test_a_rating_that_changed_is_told_in_words(two, student):
    first, second = two
    first.playing_test = played(first.reed, at=first.sent_at, low_notes=3, staccato=5)
    second.playing_test = played(first.reed, at=second.sent_at, low_notes=5, staccato=5)
    first.save()
    second.save()
    (one,) = Changed(second, student).ratings
    assert (one.item, one.before, one.after) == ("low_notes", "speaks late", "speaks at once")


def test_takes_before_and_after_lie_side_by_side_with_what_they_told(two, student, as_member):
    takes = [make.ready_take(row.reed, hz=hz) for row, hz in zip(two, (440.0, 442.0), strict=True)]
    for row, take in zip(two, takes, strict=True):
        row.takes.add(take)
    (one,) = Changed(two[1], student).takes
    assert (one.before, one.after) == tuple(takes)
    page = as_member(student).get(student.to("lessons:round", two[1].pk)).content.decode()
    for take in takes:
        assert student.to("reeds:take", take.pk) in page


def test_a_first_round_has_nothing_beside_it(two, student, as_member):
    changed = Changed(two[0], student)
    assert (changed.before, changed.is_told) == (None, False)
    assert (
        "Since round" not in as_member(student).get(student.to("lessons:round", two[0].pk)).content.decode()
    )


def test_the_teacher_sees_it_on_the_review_where_something_was_taken_off(two, teacher, student, as_member):
    review = teacher.to("lessons:rest", two[1].pk)
    assert "Since round 1" not in as_member(teacher).get(review).content.decode()
    actions.scrape_a_little(two[0].reed, student, THREE, two[0].sent_at + HOUR / 2)
    assert "3 strokes left" in as_member(teacher).get(review).content.decode()
