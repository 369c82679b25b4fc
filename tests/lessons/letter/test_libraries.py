"""Whether this machine can set type, and what is said where it cannot."""

import pytest
from django.core.checks import run_checks

from lessons.letter import libraries


@pytest.fixture
def without(monkeypatch):
    monkeypatch.setattr(libraries, "NAMES", (("libnowhere.so.0",),))
    libraries.can_press.cache_clear()
    yield
    libraries.can_press.cache_clear()


def said():
    return [one for one in run_checks() if one.id == "lessons.W001"]


def test_where_pango_is_installed_nothing_is_said():
    assert libraries.can_press()
    assert said() == []


def test_where_it_is_not_a_check_warns(without):
    (warning,) = said()
    assert "can be printed" in warning.msg
    for package in libraries.PACKAGES:
        assert package in warning.hint


def test_and_the_page_points_to_its_print(without, as_member, teacher, student):
    from tests.lessons.letter import make_letter as of

    letter = of.kept(student, of.term(student.studio))
    page = as_member(teacher).get(teacher.to("lessons:letter", letter.pk)).content.decode()
    assert "This server cannot make PDFs: print this page instead" in page
    assert teacher.to("lessons:letter_make", letter.pk) not in page
