"""What a guardian finds: their children's reeds, rounds, answers, terms and letters, and nothing to write."""

from __future__ import annotations

import datetime as dt

import pytest
from django.utils import timezone

from lessons.answering.models import Answer, Reply
from tests import factories as make


@pytest.fixture
def child(teacher):
    return make.student(studio=teacher.studio, under_age=True)


@pytest.fixture
def guardian(child):
    return make.guardian(child)


@pytest.fixture
def answered(child, teacher):
    round_ = make.sent_round(child, photos=1, takes=1, answered_at=timezone.now())
    given = {"submission": round_, "author": teacher, "decision": "rest", "sent_at": timezone.now()}
    Answer.objects.create(studio=teacher.studio, words="Leave it alone.", next_step="Let it dry.", **given)
    return round_


def page_of(client, url):
    answer = client.get(url)
    assert answer.status_code == 200
    return answer.content.decode()


def test_the_desk_shows_each_child_with_what_was_answered(guardian, child, answered, teacher, as_member):
    sibling = make.student(studio=teacher.studio, under_age=True)
    guardian.children.add(sibling)
    make.LetterFactory(
        student=child,
        term=None,
        term_name="Spring",
        starts_on=dt.date(2026, 1, 1),
        ends_on=dt.date(2026, 3, 1),
        given_at=timezone.now(),
    )
    other = make.sent_round(make.student(studio=teacher.studio, under_age=True))
    page = page_of(as_member(guardian), guardian.to("lessons:children"))
    for said in (str(child), str(sibling), "Let it rest", "Let it dry.", "Spring", "wait for your consent"):
        assert said in page, said
    assert guardian.to("lessons:round", answered.pk) in page
    assert guardian.to("lessons:round", other.pk) not in page


def test_drafts_of_letters_and_rounds_are_not_shown(guardian, child, as_member):
    make.SubmissionFactory(reed__owner=child, question="not sent yet")
    make.LetterFactory(
        student=child,
        term=None,
        term_name="Draft",
        starts_on=dt.date(2026, 1, 1),
        ends_on=dt.date(2026, 3, 1),
    )
    page = page_of(as_member(guardian), guardian.to("lessons:children"))
    assert "Nothing was sent yet" in page
    assert "Draft" not in page


def test_the_desk_asks_as_often_for_one_round_as_for_many(
    guardian, child, answered, as_member, django_assert_num_queries
):
    client, url = as_member(guardian), guardian.to("lessons:children")
    client.get(url)
    with django_assert_num_queries(7):
        client.get(url)
    for _ in range(3):
        make.sent_round(child)
    with django_assert_num_queries(7):
        client.get(url)


def test_a_round_is_read_without_a_form(guardian, child, answered, teacher, as_member):
    Reply.objects.create(studio=child.studio, submission=answered, by=teacher, words="And then?")
    page = page_of(as_member(guardian), guardian.to("lessons:round", answered.pk))
    assert "Leave it alone." in page
    assert "And then?" in page
    main = page.split("<main")[1]
    assert "<form" not in main
    assert "hx-post" not in main
    assert not Reply.objects.filter(read_at__isnull=False).exists()


def test_a_reed_is_read_without_a_form(guardian, answered, as_member):
    page = page_of(as_member(guardian), guardian.to("reeds:reed", answered.reed_id))
    assert "<form" not in page.split("<main")[1]
    assert "measure-link" not in page


def test_of_two_children_each_page_says_whose_it_is(guardian, child, teacher, as_member):
    sibling = make.student(studio=teacher.studio, under_age=True)
    guardian.children.add(sibling)
    for one in (child, sibling):
        make.ReedFactory(owner=one)
    page = page_of(as_member(guardian), guardian.to("reeds:reeds"))
    assert page.count(str(child)) >= 1
    assert page.count(str(sibling)) >= 1
    narrowed = page_of(as_member(guardian), f"{guardian.to('reeds:reeds')}?student={child.pk}&stage=tied")
    rows = narrowed.split('id="rows"')[1]
    assert str(child) in rows
    assert str(sibling) not in rows


def test_a_guardian_has_no_term_of_their_own(guardian, child, as_member):
    make.TermFactory(studio=child.studio, starts_on=dt.date(2020, 1, 1), ends_on=dt.date(2099, 12, 31))
    client = as_member(guardian)
    assert client.get(guardian.to("lessons:term")).status_code == 404
    assert str(child) in page_of(client, guardian.to("lessons:term", child.pk))


def test_a_guardian_who_left_the_studio_sees_nothing(guardian, teacher, as_member):
    client = as_member(guardian)
    as_member(teacher).post(teacher.to("end_membership", guardian.pk))
    assert client.get(guardian.to("lessons:children")).status_code == 404
