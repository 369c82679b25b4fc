"""One round a reed waits: the older one is shown under the newer, answered and taken back with it."""

import pytest

from tests import factories as make

WRITTEN = {"words": "Let it dry.", "decision": "rest"}


@pytest.fixture
def desk(as_member, teacher):
    return as_member(teacher)


def post(client, member, name, pk, data=None):
    return client.post(member.to(f"lessons:{name}", pk), data or {})


@pytest.fixture
def two_rounds(student):
    reed = make.ReedFactory(owner=student)
    older = make.sent_round(student, reed=reed, days=5, question="And the first one?")
    return older, make.sent_round(student, reed=reed, round=2, question="What now?")


def state(*rounds):
    for row in rounds:
        row.refresh_from_db()
    return [row.is_waiting for row in rounds]


def test_an_older_round_is_shown_under_the_newer_and_answered_with_it(desk, teacher, two_rounds):
    older, newer = two_rounds
    page = desk.get(teacher.to("lessons:review", newer.pk))
    assert "And the first one?" in page.content.decode()
    assert page.context["folded"] == [older]
    post(desk, teacher, "answer", newer.pk, WRITTEN)
    assert state(older, newer) == [False, False]
    assert older.answered_with == newer
    assert (older.is_new, newer.is_new) == (False, True)


def test_taken_back_both_rounds_wait_again(desk, teacher, two_rounds):
    older, newer = two_rounds
    post(desk, teacher, "answer", newer.pk, WRITTEN)
    post(desk, teacher, "take_back", newer.pk)
    assert state(older, newer) == [True, True]
    assert older.answered_with is None


def test_what_was_answered_before_stays_its_own(desk, teacher, two_rounds):
    older, newer = two_rounds
    post(desk, teacher, "answer", older.pk, WRITTEN)
    assert state(older, newer) == [False, True]
    post(desk, teacher, "answer", newer.pk, WRITTEN)
    post(desk, teacher, "take_back", newer.pk)
    assert state(older, newer) == [False, True]
    assert older.answered_with is None


def test_its_student_is_led_from_the_older_round_to_the_answer(desk, as_member, teacher, student, two_rounds):
    older, newer = two_rounds
    post(desk, teacher, "answer", newer.pk, WRITTEN)
    client = as_member(student)
    text = client.get(student.to("lessons:round", older.pk)).content.decode()
    assert "Answered together with round 2" in text
    assert f'href="{student.to("lessons:round", newer.pk)}"' in text
    assert client.get(student.to("lessons:desk")).context["desk"].not_read == [newer.pk]


def test_several_answers_just_sent_are_one_line_and_each_is_taken_back(desk, teacher, student):
    rows = [make.sent_round(student) for _reed in range(3)]
    for row in rows:
        post(desk, teacher, "answer", row.pk, WRITTEN)
    text = desk.get(teacher.to("lessons:queue")).content.decode()
    assert text.count("is answered.") == 1
    assert f"Reed {rows[-1].reed.number} of {student} is answered." in text
    assert "and 2 before it" in text
    for row in rows:
        assert f'action="{teacher.to("lessons:take_back", row.pk)}"' in text
