"""A term of many reeds: where one is comes at once, what is told of it next, by script or a link."""

from __future__ import annotations

import datetime as dt
import re
from html import unescape

import pytest

from lessons.term import views
from tests import factories as make

# the page of all counts in figures, one's own in words
MADE = re.compile("(2|Two) reeds made")


@pytest.fixture
def term(teacher, student, monkeypatch):
    monkeypatch.setattr(views, "AT_ONCE", 1)
    today = make.today()
    for _ in range(2):
        make.ReedFactory(owner=student)
    span = {"starts_on": today - dt.timedelta(days=7), "ends_on": today + dt.timedelta(days=7)}
    return make.TermFactory(studio=teacher.studio, **span)


def test_what_is_told_is_asked_for_by_script_and_by_a_plain_link(as_member, teacher, term):
    client, address = as_member(teacher), teacher.to("lessons:term")
    first = client.get(address, {"term": term.pk, "quantity": "tie_length"}).text
    assert "2 reeds made" not in first
    (fetched,) = re.findall(r'hx-get="([^"]*)" hx-trigger="load" hx-select="#told"', first)
    assert f'<a class="alone" href="{fetched}">' in first
    assert unescape(fetched) == f"?term={term.pk}&quantity=tie_length&whole=1"
    whole = client.get(address + unescape(fetched)).text
    assert whole.count('id="told"') == 1
    assert "2 reeds made" in whole.split('id="told"')[1]


def test_it_costs_the_same_however_many_reeds_there_are(
    as_member, teacher, student, term, django_assert_max_num_queries
):
    client, address = as_member(teacher), teacher.to("lessons:term")
    with django_assert_max_num_queries(8) as few:
        client.get(address)
    for _ in range(9):
        make.ReedFactory(owner=student)
    with django_assert_max_num_queries(len(few)):
        client.get(address)


def test_few_reeds_are_told_at_once(as_member, teacher, student, term, monkeypatch):
    monkeypatch.setattr(views, "AT_ONCE", 2)
    for member in (teacher, student):
        told = as_member(member).get(member.to("lessons:term")).text.split("<main")[1]
        assert MADE.search(told)
        assert 'hx-trigger="load"' not in told


@pytest.mark.parametrize("asks", ["student", "teacher"])
def test_many_reeds_of_one_student_come_next_too(as_member, teacher, student, term, asks):
    member, whose = (teacher, [student.pk]) if asks == "teacher" else (student, [])
    client, address = as_member(member), member.to("lessons:term", *whose)
    for _ in range(2):
        make.ReedFactory(owner=make.MemberFactory(studio=student.studio))  # another's count for nobody else
    first = client.get(address).text
    (fetched,) = re.findall(r'hx-get="([^"]*)" hx-trigger="load" hx-select="#told"', first)
    assert not MADE.search(first)
    whole = client.get(address + unescape(fetched)).text
    assert MADE.search(whole.split('id="told"')[1])
    assert first.split("<h1>")[1].split("</h1>")[0] == whole.split("<h1>")[1].split("</h1>")[0]
