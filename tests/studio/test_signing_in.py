"""Signing in: by user name always, by e-mail while one person alone has it."""

from __future__ import annotations

import re

import pytest
from django.core import mail

from studio.models import Person
from tests import factories as make

PASSWORD = "cane and thread and wax"


@pytest.fixture
def person(db):
    person = make.PersonFactory(username="mira", email="family@example.org")
    person.set_password(PASSWORD)
    person.save()
    return person


def sign_in(client, login, password=PASSWORD):
    return client.post("/account/login/", {"login": login, "password": password})


def who(client):
    return client.session.get("_auth_user_id")


@pytest.mark.parametrize("login", ["mira", "Mira", "family@example.org", "Family@Example.org"])
def test_user_name_and_own_email_sign_in_whatever_the_case(client, person, login):
    assert sign_in(client, login).status_code == 302
    assert who(client) == str(person.pk)


def test_whoever_signs_in_stays_signed_in_for_the_term(client, person):
    sign_in(client, "mira")
    assert client.session.get_expiry_age() >= 150 * 24 * 3600
    assert not client.session.get_expire_at_browser_close()


def test_wrong_password_is_told_and_the_name_stays(client, person):
    page = sign_in(client, "mira", "something else").content.decode()
    assert "do not belong together" in page
    assert 'value="mira"' in page
    assert who(client) is None


def test_shared_email_signs_nobody_in_but_each_user_name_does(client, person):
    sibling = make.PersonFactory(username="tove", email="family@example.org")
    sibling.set_password(PASSWORD)
    sibling.save()
    assert "your user name" in sign_in(client, "family@example.org").content.decode()
    assert who(client) is None
    sign_in(client, "tove")
    assert who(client) == str(sibling.pk)


def test_siblings_with_one_email_each_get_a_reset_link_with_their_name(client, person):
    make.PersonFactory(username="tove", email="family@example.org")
    client.post("/account/password/reset/", {"email": "family@example.org"})
    assert len(mail.outbox) == 2
    named = {name for letter in mail.outbox for name in re.findall("mira|tove", letter.body)}
    assert named == {"mira", "tove"}


def test_nobody_signs_up_without_an_invitation(client, db):
    client.post("/account/signup/", {"username": "newone", "password1": PASSWORD, "email": ""})
    assert who(client) is None
    assert not Person.objects.exists()


def test_pages_of_several_emails_stay_shut(client, person):
    client.force_login(person)
    assert client.get("/account/email/").url == "/"


def test_password_is_changed_with_the_old_one(client, person):
    client.force_login(person)
    new = {"password1": "another very long one", "password2": "another very long one"}
    refused = client.post("/account/password/change/", {"oldpassword": "wrong", **new})
    assert refused.status_code == 200
    assert client.post("/account/password/change/", {"oldpassword": PASSWORD, **new}).url == "/"
    person.refresh_from_db()
    assert person.check_password("another very long one")
