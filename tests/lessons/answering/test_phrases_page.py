"""My usual words: kept, changed, dropped, counted; each teacher's own."""

import pytest

from lessons.answering.models import Phrase
from tests import factories as make


@pytest.fixture
def desk(as_member, teacher):
    return as_member(teacher)


@pytest.fixture
def phrase(teacher):
    return Phrase.objects.create(studio=teacher.studio, teacher=teacher, words="A few strokes a side.")


def test_a_teacher_keeps_words_and_finds_them_on_the_page_and_in_review(desk, teacher, student):
    desk.post(teacher.to("lessons:phrases"), {"words": "  Let it\n rest. "})
    assert Phrase.objects.get().words == "Let it rest."
    assert "Let it rest." in desk.get(teacher.to("lessons:phrases")).content.decode()
    sent = make.sent_round(student)
    assert "Let it rest." in desk.get(teacher.to("lessons:review", sent.pk)).content.decode()


def test_the_same_words_twice_are_kept_once(desk, teacher, phrase):
    given = desk.post(teacher.to("lessons:keep_phrase"), {"words": phrase.words})
    assert given.json()["pk"] == phrase.pk
    assert Phrase.objects.count() == 1


@pytest.mark.parametrize("words", ["", "   ", "a" * 501])
def test_no_words_and_too_many_are_refused_with_a_sentence(words, desk, teacher, phrase):
    assert desk.post(teacher.to("lessons:keep_phrase"), {"words": words}).json()["refusal"]
    for name, more in (("phrases", []), ("change_phrase", [phrase.pk])):
        page = desk.post(teacher.to(f"lessons:{name}", *more), {"words": words})
        assert page.status_code == 422
        assert 'role="alert"' in page.content.decode()
    assert Phrase.objects.get().words == phrase.words


def test_words_are_changed_and_dropped(desk, teacher, phrase):
    desk.post(teacher.to("lessons:change_phrase", phrase.pk), {"words": "Look again."})
    assert Phrase.objects.get().words == "Look again."
    desk.post(teacher.to("lessons:drop_phrase", phrase.pk))
    assert not Phrase.objects.exists()


def test_the_most_used_come_first(desk, teacher, phrase):
    often = Phrase.objects.create(studio=teacher.studio, teacher=teacher, words="Look again.")
    desk.post(teacher.to("lessons:used_phrase", often.pk))
    assert list(desk.get(teacher.to("lessons:phrases")).context["phrases"]) == [often, phrase]


@pytest.mark.parametrize("name", ["change_phrase", "drop_phrase", "used_phrase"])
def test_a_colleague_a_student_and_a_stranger_do_not_find_them(
    name, as_member, teacher, student, stranger, phrase
):
    for who in (make.teacher(studio=teacher.studio), student, stranger):
        asked = as_member(who).post(teacher.to(f"lessons:{name}", phrase.pk), {"words": "Mine"})
        assert asked.status_code == 404
    phrase.refresh_from_db()
    assert (phrase.words, phrase.used) == ("A few strokes a side.", 0)


def test_a_student_has_no_such_page(as_member, student):
    for name in ("phrases", "keep_phrase"):
        assert as_member(student).post(student.to(f"lessons:{name}"), {"words": "a"}).status_code == 404


@pytest.mark.parametrize("name", ["keep_phrase", "change_phrase", "drop_phrase", "used_phrase"])
def test_what_changes_something_is_not_got(name, desk, teacher, phrase):
    more = [] if name == "keep_phrase" else [phrase.pk]
    assert desk.get(teacher.to(f"lessons:{name}", *more)).status_code == 405
