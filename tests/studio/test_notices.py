"""Whoever's signing in is changed gets a letter; nobody without an address does."""

from __future__ import annotations

import pytest
from allauth.mfa.models import Authenticator
from django.core import mail
from django.test import Client

from studio import actions
from studio.notices import OF_ALLAUTH
from studio.second_step import forget_second_step
from tests.studio.second_steps import PASSWORD, code, set_up_phone, sign_in, with_password, with_phone

pytestmark = pytest.mark.usefixtures("worker_at_once")

OTHER = "another very long one"


@pytest.fixture
def me(student):
    return with_password(student)


def told(member):
    """What the letters to this member say, one line each; they name nobody else."""
    assert {tuple(letter.to) for letter in mail.outbox} <= {(member.person.email,)}
    return [letter.body.splitlines()[2] for letter in mail.outbox]


def test_of_a_password_changed_by_oneself(me, as_member):
    given = {"oldpassword": PASSWORD, "password1": OTHER, "password2": OTHER}
    as_member(me).post("/account/password/change/", given)
    assert told(me) == ["Your password was changed."]
    assert "/account/password/reset/" in mail.outbox[0].body
    assert me.person.username in mail.outbox[0].body


def test_of_one_chosen_by_a_link_of_the_teacher(me, teacher):
    Client().post(actions.make_sign_in_link(me, teacher).get_absolute_url(), {"password": OTHER})
    assert told(me) == ["Your password was changed."]


def test_of_one_chosen_by_mail(me, client):
    client.post("/account/password/reset/", {"email": me.person.email})
    path = next(word for word in mail.outbox.pop().body.split() if "/password/reset/key/" in word)
    form = client.get(path.partition("//")[2].partition("/")[1] + path.split("/", 3)[3])
    client.post(form.url, {"password1": OTHER, "password2": OTHER})
    assert told(me) == ["Your password was changed."]


@pytest.mark.django_db(transaction=True)
def test_of_a_phone_set_up_and_taken_away(me, as_member):
    client = as_member(me)
    set_up_phone(client)
    client.post("/account/second-step/totp/deactivate/")
    said = told(me)
    assert "A phone was set up: its codes are asked when you sign in." in said
    assert "No code from your phone is asked any more when you sign in." in said


def test_of_a_passkey_removed(me, as_member):
    key = Authenticator.objects.create(
        user=me.person, type="webauthn", data={"name": "Mine", "credential": {}}
    )
    client = as_member(me)
    client.post("/account/reauthenticate/", {"password": PASSWORD})
    client.post(f"/account/second-step/webauthn/keys/{key.pk}/remove/")
    assert told(me) == ["A passkey was removed: it no longer signs you in."]


def test_of_a_second_step_taken_away_by_the_teacher(me, teacher, as_member):
    as_member(teacher).post(teacher.to("drop_second_step", with_phone(me).pk))
    assert told(me) == ["Your second step was taken away: the password alone signs you in."]
    mail.outbox.clear()
    forget_second_step(me.person)  # nothing is left to take away
    assert mail.outbox == []


def test_not_of_a_guess(me, as_member):
    client = as_member(me)
    client.post("/account/password/change/", {"oldpassword": "x", "password1": OTHER, "password2": OTHER})
    client.post("/account/reauthenticate/", {"password": "wrong"})
    assert mail.outbox == []


def test_nobody_without_an_address_is_written_to(me, as_member):
    me.person.email = ""
    me.person.save()
    given = {"oldpassword": PASSWORD, "password1": OTHER, "password2": OTHER}
    assert as_member(me).post("/account/password/change/", given).status_code == 302
    assert mail.outbox == []


def test_all_that_allauth_can_tell_of_signing_in_has_its_sentence():
    assert {name for name in OF_ALLAUTH if name.startswith("mfa/")} == {
        f"mfa/email/{what}"
        for what in (
            *("totp_activated", "totp_deactivated", "webauthn_added", "webauthn_removed"),
            "recovery_codes_generated",
        )
    }


def test_the_code_that_set_a_phone_up_does_not_sign_in(me, as_member):
    secret, _printed = set_up_phone(as_member(me))
    client = Client()
    sign_in(client, me)
    answer = client.post("/account/second-step/authenticate/", {"code": code(secret)})
    assert "does not fit" in answer.content.decode()
    assert client.session.get("_auth_user_id") is None
