"""The studio's name, time zone and A."""

from __future__ import annotations

import pytest

from studio.models import Studio

GOOD = {"name": "New Name", "time_zone": "Asia/Tokyo", "a4_hz": "440"}


def there(member):
    return Studio.objects.get(pk=member.studio_id)


@pytest.mark.parametrize(("typed", "hertz"), [("440", 440), ("442.5", 442.5), ("442,5", 442.5), ("415", 415)])
def test_teacher_changes_the_studio(teacher, as_member, typed, hertz):
    answer = as_member(teacher).post(teacher.to("studio_settings"), {**GOOD, "a4_hz": typed})
    assert answer.url == teacher.to("studio_settings")
    studio = there(teacher)
    assert (studio.name, studio.time_zone, studio.a4_hz) == ("New Name", "Asia/Tokyo", hertz)


def test_whole_hertz_are_shown_without_a_fraction(teacher, as_member):
    assert 'value="442"' in as_member(teacher).get(teacher.to("studio_settings")).content.decode()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"name": " "}, "required"),
        ({"time_zone": "Atlantis/Capital"}, "Select a valid choice"),
        ({"a4_hz": "414.9"}, "From 415 to 446"),
        ({"a4_hz": "446.1"}, "From 415 to 446"),
        ({"a4_hz": "nan"}, "Enter a number"),
        ({"a4_hz": "high"}, "Enter a number"),
    ],
)
def test_bad_entry_is_refused_and_nothing_of_it_shows_as_kept(teacher, as_member, change, words):
    answer = as_member(teacher).post(teacher.to("studio_settings"), {**GOOD, **change})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert words in page
    assert f'href="{teacher.to("home")}">{teacher.studio.name}<' in page  # the bar
    assert there(teacher).name == teacher.studio.name


def test_student_and_stranger_change_no_studio(teacher, student, stranger, as_member):
    for member in (student, stranger):
        client = as_member(member)
        assert client.get(teacher.to("studio_settings")).status_code == 404
        assert client.post(teacher.to("studio_settings"), GOOD).status_code == 404
    assert there(teacher).name == teacher.studio.name


def test_settings_answer_no_other_method(teacher, as_member):
    assert as_member(teacher).delete(teacher.to("studio_settings")).status_code == 405
