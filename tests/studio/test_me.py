"""One's own page."""

from __future__ import annotations

import pytest

from studio.models import Person
from tests import factories as make

PASSWORD = "cane and thread and wax"


@pytest.fixture
def me(student):
    student.person.set_password(PASSWORD)
    student.person.save()
    return student


def there(member):
    return Person.objects.get(pk=member.person_id)


def test_student_changes_the_name_without_a_password(me, as_member):
    given = {"name": "Another Name", "email": me.person.email, "password": ""}
    assert as_member(me).post(me.to("me"), given).url == me.to("me")
    assert there(me).name == "Another Name"


@pytest.mark.parametrize("email", ["New@Example.org", ""])
def test_student_changes_the_email_with_the_password(me, as_member, email):
    """Another waits until its link is opened, see test_addresses.py; none counts at once."""
    before = me.person.email
    as_member(me).post(me.to("me"), {"name": "N", "email": email, "password": PASSWORD})
    assert (there(me).email, there(me).email_wanted) == (before if email else "", email.lower())


@pytest.mark.parametrize("password", ["", "wrong"])
def test_email_is_not_changed_without_the_password(me, as_member, password):
    given = {"name": "N", "email": "new@example.org", "password": password}
    answer = as_member(me).post(me.to("me"), given)
    assert answer.status_code == 422
    assert "new@example.org" in answer.content.decode()
    assert there(me).email == me.person.email


@pytest.mark.parametrize("change", [{"name": " "}, {"name": "x" * 81}, {"email": "nowhere"}])
def test_bad_entry_is_refused(me, as_member, change):
    given = {"name": "N", "email": me.person.email, "password": PASSWORD, **change}
    assert as_member(me).post(me.to("me"), given).status_code == 422
    assert there(me).name == me.person.name


def test_what_only_a_teacher_says_cannot_be_sent_along(me, as_member):
    given = {"name": "N", "email": me.person.email, "may_act": "on", "role": "teacher", "username": "other"}
    as_member(me).post(me.to("me"), given)
    me.refresh_from_db()
    assert not me.may_act
    assert not me.teaches
    assert there(me).username == me.person.username


def test_person_of_two_studios_finds_both(me, stranger, as_member):
    other = make.student(studio=stranger.studio, person=me.person)
    assert other.to("home") in as_member(me).get(me.to("me")).content.decode()


def test_stranger_has_no_page_in_this_studio(me, stranger, as_member):
    assert as_member(stranger).get(me.to("me")).status_code == 404


def test_my_page_answers_no_other_method(me, as_member):
    assert as_member(me).delete(me.to("me")).status_code == 405
