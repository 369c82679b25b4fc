"""Recordings in a reed's life: when, with a link and what was heard in short; removed ones are not there."""

import datetime as dt

import pytest
from django.utils import timezone

from reeds.take.models import Take
from tests import factories as make


@pytest.fixture
def reed(student):
    return make.ReedFactory(owner=student, stage="playing")


def life(client, member, reed):
    return client.get(member.to("reeds:reed", reed.pk)).content.decode()


def test_a_take_stands_in_its_reeds_life_with_its_cents(reed, as_member, student, teacher):
    take = make.ready_take(reed, hz=445.0)
    for who in (student, teacher):
        page = life(as_member(who), who, reed)
        assert who.to("reeds:take", take.pk) in page
        assert "+11.7" in page


def test_takes_of_one_sitting_are_one_moment_and_a_later_one_another(reed, as_member, student):
    now = timezone.now()
    make.ready_take(reed, at=now - dt.timedelta(days=2))
    for minutes in (0, 5):
        make.ready_take(reed, at=now + dt.timedelta(minutes=minutes))
    page = life(as_member(student), student, reed)
    assert page.count('class="moment-takes"') == 2
    assert "Recorded: 2" in page


def test_one_that_waits_or_was_refused_says_so_and_one_taken_back_is_not_there(reed, as_member, student):
    take = make.ready_take(reed)
    client = as_member(student)
    Take.objects.update(state="waiting", result={})
    assert "being listened to" in life(client, student, reed)
    Take.objects.update(state="refused", refusal="The file of this recording is gone. Record it again.")
    assert "Record it again." in life(client, student, reed)
    Take.objects.update(taken_back_at=timezone.now())
    assert student.to("reeds:take", take.pk) not in life(client, student, reed)


def test_many_takes_cost_no_more_queries(reed, as_member, student, django_assert_max_num_queries):
    client = as_member(student)
    make.ready_take(reed)
    life(client, student, reed)
    with django_assert_max_num_queries(12) as few:
        life(client, student, reed)
    for day in range(5):
        make.ready_take(reed, at=timezone.now() - dt.timedelta(days=day + 1))
    with django_assert_max_num_queries(len(few)):
        life(client, student, reed)
