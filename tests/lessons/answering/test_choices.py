"""What one press lays beside a reed: the student's last at the stage, their best, the teacher's model."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from reeds.photo.models.measuring import PhotoMeasuring
from reeds.reed.models.playing import PlayingTest, Rating
from tests import factories as make


@pytest.fixture
def labels(as_member, teacher):
    """Return a function that gives what can be laid beside a round, and why."""

    def shown(row):
        page = as_member(teacher).get(teacher.to("lessons:beside", row.pk))
        found = page.context["beside"].choices
        text = page.content.decode()
        for one in found:
            assert f'data-beside-photo="{one.photo.pk}"' in text
            assert one.label in text.lower()
        return [(one.label, one.why) for one in found]

    return shown


def laid(photo):
    """The photo as the worker leaves it: its card was found."""
    plane = {
        "matrix": [[0.2, 0, -30], [0, 0.2, -30], [0, 0, 1]],
        "share": 0.02,
        "off_reed": 0.01,
        "uneven_mm": 0.1,
        "reach": [0, 71],
        "window": [-8, -14, 84, 14],
        "clicked": False,
    }
    row = PhotoMeasuring(studio=photo.studio, photo=photo, state="found", looked_for="reed", laid=plane)
    row.save()
    return photo


def sent(student, *, stage="playing", found=True, **given):
    reed = given.pop("reed", None) or make.ReedFactory(owner=student, stage=stage)
    row = make.sent_round(student, reed=reed, **given)
    if found:
        laid(row.photos.first())
    return row


def played(row, *speaks):
    test = PlayingTest.objects.create(studio=row.studio, reed=row.reed, by=row.student)
    for item, speak in zip(("low_notes", "staccato", "tuning"), speaks, strict=False):
        Rating.objects.create(studio=row.studio, test=test, item=item, speaks=speak)
    return row


def test_where_there_is_none_nothing_is_offered(labels, student):
    assert labels(sent(student)) == []


def test_the_last_at_this_stage_and_the_best_that_played_are_told_with_their_numbers(labels, student):
    best = played(sent(student, days=30), 5, 4)
    sent(student, days=20, stage="tied")
    last = played(sent(student, days=10), 2)
    assert labels(sent(student, days=1)) == [
        (f"last at this stage: reed {last.reed.number}", ""),
        (f"best other: reed {best.reed.number}", "it came to play, rated 4.5 of 5 (mean of 2 ratings)"),
    ]


def test_one_reed_that_is_both_is_offered_once(labels, student):
    both = played(sent(student, days=5), 4)
    assert labels(sent(student)) == [
        (
            f"last at this stage and best other: reed {both.reed.number}",
            "it came to play, rated 4.0 of 5 (1 rating)",
        )
    ]


def test_a_reed_that_never_came_to_play_is_not_the_best(labels, student):
    played(sent(student, days=9, stage="finishing"), 5, 5)
    assert labels(sent(student)) == []


def test_a_photo_without_a_scale_cannot_be_laid_at_the_same_one(labels, student):
    played(sent(student, days=9, found=False), 5)
    assert labels(sent(student)) == []


def test_nobody_elses_reed_and_no_later_one_is_theirs(labels, student, other_student, stranger):
    sent(other_student, days=9)
    now = sent(student, days=5)
    played(sent(student, days=1, stage="tied"), 5)
    sent(student, days=1)
    elsewhere = make.ReedFactory(owner=stranger, is_model=True)
    make.measured_photo(elsewhere)
    told = [label for label, _why in labels(now)]
    assert not any(label.startswith(("last", "model")) for label in told)


def test_the_teachers_model_is_offered_where_it_is_scraped_the_same_way(labels, student, teacher):
    now = sent(student)
    model = make.ReedFactory(owner=teacher, is_model=True, version=now.reed.version)
    make.measured_photo(model)
    assert labels(now) == [(f"model: reed {model.number}", "")]
    pattern = model.version.pattern
    other = make.ReedFactory(owner=teacher).version
    type(other.pattern).objects.filter(pk=other.pattern.pk).update(style="long")
    type(model).objects.filter(pk=model.pk).update(version=other)
    assert other.pattern.pk != pattern.pk
    assert labels(now) == []


def test_a_reed_that_was_taken_out_is_not_offered(labels, student):
    gone = sent(student, days=9)
    type(gone.reed).objects.filter(pk=gone.reed.pk).update(taken_out_at=gone.sent_at)
    assert labels(sent(student)) == []


def test_the_queries_are_as_many_for_one_reed_before_as_for_many(as_member, teacher, student, other_student):
    def queries(owner, before):
        for day in range(before):
            played(sent(owner, days=20 + day), 3)
        row = sent(owner)
        client = as_member(teacher)
        client.get(teacher.to("lessons:review", row.pk))
        with CaptureQueriesContext(connection) as counted:
            client.get(teacher.to("lessons:review", row.pk))
        return len(counted)

    model = make.ReedFactory(owner=teacher, is_model=True)
    make.measured_photo(model)
    assert queries(student, 2) == queries(other_student, 9)
