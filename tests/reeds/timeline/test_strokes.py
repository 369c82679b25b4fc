"""Strokes ticked as done are an event of the reed's life; what was heard before is of another reed."""

from __future__ import annotations

import datetime as dt
import uuid

import pytest
from django.utils import timezone

from reeds.checks.experiments import Blade, Side, Strokes, Zone
from reeds.numbers.measured import Measured
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import Method
from reeds.reed import actions
from reeds.reed.actions import Entry
from reeds.reed.facts import answers_of, facts_of
from reeds.reed.models.playing import PlayingTest, Rating
from reeds.reed.models.reed import EventKind
from reeds.take.told import takes_of
from studio.errors import NotPossible
from tests import factories as make
from tests.reeds.timeline.test_reed import a_reed

HOUR = dt.timedelta(hours=1)
LEFT = Strokes(3, Side.LEFT, Blade.BOTH, Zone.SCRAPE)
TYPED = {"strokes-count": "3", "strokes-side": "left", "strokes-blade": "both", "strokes-zone": "scrape"}


@pytest.fixture
def reed(student):
    return a_reed(student, "finishing")


def played(reed, at=None, **ratings):
    """A playing test noted at a time."""
    test = PlayingTest.objects.create(
        studio=reed.studio,
        reed=reed,
        by=reed.owner,
        effort=ratings.pop("effort", None),
        at=at or timezone.now(),
    )
    for item, speaks in ratings.items():
        Rating.objects.create(studio=reed.studio, test=test, item=item, speaks=speaks)
    return test


def test_strokes_are_an_event_with_their_counts(student, as_member, reed):
    answer = as_member(student).post(student.to("reeds:strokes", reed.pk), TYPED, follow=True)
    assert "The strokes are noted." in answer.content.decode()
    event = reed.events.get(kind=EventKind.SCRAPE)
    assert (event.scraped, event.by, event.clip) == (LEFT, student, None)
    assert "3 strokes left" in answer.content.decode()


def test_the_form_is_filled_as_the_usual_step_has_it_and_then_says_what_to_play(student, as_member, reed):
    played(reed, low_notes=5, effort=4)
    client = as_member(student)
    page = client.get(student.to("reeds:reed", reed.pk))
    assert page.context["strokes"]["side"].value() == "both"
    assert "Done: strokes taken" in page.content.decode()
    after = client.post(student.to("reeds:strokes", reed.pk), TYPED | {"strokes-side": "both"}, follow=True)
    assert "Then blow: is it easier?" in after.content.decode()
    assert "Done: strokes taken" not in after.content.decode(), "the step is done: it asks for nothing again"


def test_what_was_played_before_is_of_another_reed(student, reed):
    played(reed, at=timezone.now() - HOUR, low_notes=3, effort=4)
    assert answers_of(reed) == {"low_notes": 3, "effort": 4}
    actions.scrape_a_little(reed, student, LEFT)
    assert answers_of(reed) == {}
    played(reed, low_notes=5)
    assert answers_of(reed) == {"low_notes": 5}


def test_a_take_before_the_strokes_tells_nothing_of_the_reed_now(student, reed):
    take = make.ready_take(reed)
    type(take).objects.filter(pk=take.pk).update(at=timezone.now() - HOUR)
    assert takes_of(reed)
    actions.clip(reed, student, Measured(0.2, 0.1))
    assert not takes_of(reed)


def test_strokes_end_what_was_seen_of_the_opening_and_a_clip_does_not(student, reed):
    looked = [Entry(QUANTITIES["closing"], Method.EYE, word="left_first")]
    actions.record(reed, student, [*looked, Entry(QUANTITIES["tie_length"], Method.RULER, value=72.0)])
    actions.clip(reed, student, Measured(0.2, 0.1))
    assert facts_of(reed, student).choice("closing") == "left_first"
    actions.scrape_a_little(reed, student, LEFT)
    facts = facts_of(reed, student)
    assert facts.choice("closing") == ""
    assert facts.value("tie_length").value == 72.0


def test_strokes_taken_back_count_no_more(student, as_member, reed):
    played(reed, at=timezone.now() - HOUR, low_notes=3)
    actions.scrape_a_little(reed, student, LEFT)
    event = reed.events.get(kind=EventKind.SCRAPE)
    as_member(student).post(student.to("reeds:take_back", event.pk))
    assert answers_of(reed) == {"low_notes": 3}


def test_the_same_form_twice_is_once(student, as_member, reed):
    client, typed = as_member(student), TYPED | {"strokes-key": str(uuid.uuid4())}
    for _tap in range(2):
        assert client.post(student.to("reeds:strokes", reed.pk), typed).status_code == 302
    assert reed.events.filter(kind=EventKind.SCRAPE).count() == 1


@pytest.mark.parametrize(
    "wrong",
    [
        {"strokes-count": "0"},
        {"strokes-count": "41"},
        {"strokes-count": "three"},
        {"strokes-side": "upper"},
        {"strokes-zone": ""},
        {"strokes-at": "2999-01-01T10:00"},
    ],
)
def test_what_cannot_be_is_refused_with_what_was_typed(student, as_member, reed, wrong):
    answer = as_member(student).post(student.to("reeds:strokes", reed.pk), TYPED | wrong)
    assert answer.status_code == 422
    assert not reed.events.filter(kind=EventKind.SCRAPE).exists()
    assert answer.context["strokes"]["blade"].value() == "both"


def test_a_blank_is_not_scraped_on(student, as_member):
    blank = a_reed(student, "bound")
    answer = as_member(student).post(student.to("reeds:strokes", blank.pk), TYPED)
    assert answer.status_code == 422
    assert "Only a reed that is scraped" in answer.content.decode()
    assert (
        "Note the strokes" not in as_member(student).get(student.to("reeds:reed", blank.pk)).content.decode()
    )
    with pytest.raises(NotPossible):
        actions.scrape_a_little(
            a_reed(student, "finishing"), student, Strokes(0, *list(vars(LEFT).values())[1:])
        )


def test_others_find_no_reed(other_student, stranger, as_member, reed):
    for member in (other_student, stranger):
        assert as_member(member).post(member.to("reeds:strokes", reed.pk), TYPED).status_code == 404
    assert not reed.events.filter(kind=EventKind.SCRAPE).exists()
