"""The recordings of a round on its page: a line each, drawn when it is opened."""

import uuid

import pytest
from django.urls import reverse

from lessons.answering import actions
from lessons.answering.spans import Span
from tests import factories as make


@pytest.fixture
def sent(student):
    return make.sent_round(student, takes=3)


@pytest.fixture
def page(as_member, teacher, sent):
    """Return a function that gives the review page."""
    return lambda: as_member(teacher).get(teacher.to("lessons:review", sent.pk)).content.decode()


def drawn(html):
    """How many recordings are drawn in it, each with its sound."""
    return html.count('class="take-player"')


def asked_for(html):
    """How many come when they are opened."""
    return html.count('/heard/" hx-trigger="toggle from:closest details once"')


def test_each_recording_is_a_line_that_is_drawn_when_it_is_opened(page):
    html = page()
    assert (drawn(html), asked_for(html)) == (0, 3)


def test_a_recording_that_somebody_wrote_of_is_never_folded_away(page, teacher, sent):
    last = sent.takes.order_by("pk").last()
    own = actions.answer_of(sent, teacher)
    actions.put_span(own, last, uuid.uuid4(), Span(0.5, 1.0, "it scoops up"))
    html = page()
    assert (drawn(html), asked_for(html)) == (1, 2)
    assert "it scoops up" in html


def test_a_folded_recording_comes_drawn_and_can_be_marked_by_the_teacher(as_member, teacher, student, sent):
    last = sent.takes.order_by("pk").last()
    html = as_member(teacher).get(teacher.to("reeds:take_heard", last.pk)).content.decode()
    assert drawn(html) == 1
    assert f'action="{reverse("lessons:span", args=[teacher.studio_id, sent.pk, last.pk])}"' in html
    own = as_member(student).get(student.to("reeds:take_heard", last.pk)).content.decode()
    assert drawn(own) == 1
    assert "data-span-form" not in own


def test_those_of_the_reference_stand_last_with_its_number(page, student, sent):
    reference = make.ReedFactory(owner=student, is_reference=True)
    sent.takes.add(make.ready_take(reference))
    html = page()
    assert f"reference, reed {reference.number}" in html
    assert (drawn(html), asked_for(html)) == (0, 4)
