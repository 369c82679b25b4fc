"""A reed that plays: one tap a day, when it went soft, when it was put away."""

from __future__ import annotations

import datetime as dt

import pytest

from reeds.numbers.words import Stage
from reeds.reed import actions
from reeds.reed.models.reed import EventKind
from reeds.reed.playing_life import life_of, note_life
from tests import factories as make
from tests.reeds.timeline.test_reed import a_reed

DAY = dt.timedelta(days=1)


@pytest.fixture
def reed(student):
    return a_reed(student, "playing")


def life(reed):
    return life_of(reed.events.standing())


def test_played_today_is_one_tap_and_the_page_counts_days(student, as_member, reed):
    client = as_member(student)
    for said in ("It is noted.", "That is noted already."):
        answer = client.post(student.to("reeds:life", reed.pk), {"what": "played"}, follow=True)
        assert said in answer.content.decode()
    assert "played on 1 day" in answer.content.decode()
    assert reed.events.filter(kind=EventKind.PLAYED).count() == 1


def test_days_are_counted_once_each_and_the_last_is_told(student, reed):
    today = make.today()
    for ago in (3, 1, 1, 2):
        note_life(reed, student, EventKind.PLAYED, today - ago * DAY)
    assert (life(reed).days, life(reed).last_on) == (3, today - DAY)


def test_soft_and_away_are_told_until_it_is_taken_up_again(student, reed):
    today = make.today()
    note_life(reed, student, EventKind.SOFT, today - 4 * DAY)
    note_life(reed, student, EventKind.AWAY, today - 3 * DAY)
    assert (life(reed).soft_on, life(reed).away_on) == (today - 4 * DAY, today - 3 * DAY)
    note_life(reed, student, EventKind.PLAYED)
    assert life(reed).away_on is None


def test_a_day_tapped_by_mistake_is_taken_back(student, as_member, reed):
    note_life(reed, student, EventKind.PLAYED)
    event = reed.events.get(kind=EventKind.PLAYED)
    as_member(student).post(student.to("reeds:take_back", event.pk))
    assert life(reed).days == 0


@pytest.mark.parametrize(
    "wrong",
    [{"what": "eaten"}, {}, {"what": "played", "day": "2999-01-01"}, {"what": "played", "day": "1999-01-01"}],
)
def test_what_cannot_be_is_refused(student, as_member, reed, wrong):
    assert as_member(student).post(student.to("reeds:life", reed.pk), wrong).status_code == 422
    assert not life(reed).is_told


def test_a_reed_that_does_not_play_yet_is_not_noted_as_played(student, as_member):
    blank = a_reed(student, "bound")
    answer = as_member(student).post(student.to("reeds:life", blank.pk), {"what": "played"})
    assert answer.status_code == 422
    assert "take the step first" in answer.content.decode()
    assert "Played today" not in as_member(student).get(student.to("reeds:reed", blank.pk)).content.decode()


def test_played_days_do_not_move_a_reed_in_its_life(student, reed):
    note_life(reed, student, EventKind.PLAYED)
    reed.refresh_from_db()
    assert reed.stage == Stage.PLAYING
    actions.move_stage(reed, student, Stage.PLAYED_OUT)
    assert life(reed).days == 1


def test_others_find_no_reed(other_student, stranger, as_member, reed):
    for member in (other_student, stranger):
        assert as_member(member).post(member.to("reeds:life", reed.pk), {"what": "played"}).status_code == 404
    assert not life(reed).is_told
