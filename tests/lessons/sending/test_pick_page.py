"""Picking the reed to send by its number on the cork."""

import datetime as dt

import pytest
from django.utils import timezone

from tests import factories as make


@pytest.fixture
def reeds(student):
    first = make.ReedFactory(owner=student, number=7, stage_since=timezone.now() - dt.timedelta(days=3))
    return [first, make.ReedFactory(owner=student, number=12, version=first.version)]


@pytest.fixture
def pick(as_member, student):
    return lambda **asked: as_member(student).get(student.to("lessons:send"), asked)


def test_the_reed_worked_on_last_comes_first(pick, reeds):
    page = pick().content.decode()
    assert page.index(">12<") < page.index(">7<")


def test_the_number_on_the_cork_finds_the_reed(pick, reeds, student):
    assert pick(number=" 7 ").url == student.to("lessons:draft", reeds[0].pk)


@pytest.mark.parametrize("number", ["8", "-1", "x", "7.5", "9" * 30, "²"])
def test_a_number_that_is_on_no_cork_is_said(number, pick, reeds):
    answer = pick(number=number)
    assert answer.status_code == 200
    assert "no reed with the number" in answer.content.decode()


def test_a_fellow_students_number_finds_nothing(pick, other_student):
    make.ReedFactory(owner=other_student, number=99)
    assert "no reed with the number" in pick(number="99").content.decode()


def test_what_is_begun_is_named(pick, reeds):
    make.SubmissionFactory(reed=reeds[0], draft={"tie_length": "7"})
    make.SubmissionFactory(reed=reeds[1])
    assert pick().content.decode().count("begun") == 1


def test_strangers_and_wrong_methods_find_nothing(as_member, student, stranger):
    assert as_member(stranger).get(student.to("lessons:send")).status_code == 404
    assert as_member(student).post(student.to("lessons:send")).status_code == 405


def test_the_last_three_come_first_each_with_the_stages_it_may_have_come_to(pick, student, reeds):
    over = make.ReedFactory(owner=student, number=20, version=reeds[0].version, stage="given_up")
    for number in (13, 14):
        make.ReedFactory(owner=student, number=number, version=over.version, stage="playing")
    foremost, others = pick().text.split("Another reed")
    corks = [f">{number}<" in foremost for number in (12, 13, 14, 7, 20)]
    assert corks == [True] * 3 + [False] * 2
    assert others.index(">7<") < others.index(">20<")  # one that is given up comes last
    assert "12, by now bound" in foremost
    assert "12, by now scraped" in foremost
    assert "by now played out" not in foremost


def test_photos_come_first_where_pictures_may_be_sent(as_member, student):
    for name in ("lessons:send", "lessons:desk"):
        assert "data-photos-first" in as_member(student).get(student.to(name)).text
    type(student).objects.filter(pk=student.pk).update(under_age=True)
    for name in ("lessons:send", "lessons:desk"):
        page = as_member(student).get(student.to(name)).text
        assert "data-photos-first" not in page
        assert student.to("lessons:send") in page
