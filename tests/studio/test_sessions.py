"""Where one is signed in, in plain words, and signing out everywhere else."""

from __future__ import annotations

import datetime as dt
import io

import pytest
import time_machine
from django.core.management import CommandError, call_command
from django.test import Client

from studio.sessions import device_of, signed_in_places
from tests.studio.second_steps import PASSWORD, sign_in, with_password

pytestmark = pytest.mark.django_db
PHONE = "Mozilla/5.0 (Linux; Android 15; K) AppleWebKit/537.36 Chrome/140.0 Mobile Safari/537.36"
TABLET = "Mozilla/5.0 (Linux; Android 15; K) AppleWebKit/537.36 Chrome/140.0 Safari/537.36"
DESK = "Mozilla/5.0 (X11; Linux x86_64; rv:140.0) Gecko/20100101 Firefox/140.0"


def signed_in(member, agent, at):
    client = Client(headers={"user-agent": agent})
    with time_machine.travel(at, tick=False):
        sign_in(client, member)
    return client


@pytest.fixture
def me(student):
    return with_password(student)


@pytest.fixture
def desk(me):
    return signed_in(me, DESK, "2026-03-01T09:00Z")


@pytest.fixture
def phone(me):
    return signed_in(me, PHONE, "2026-03-02T10:00Z")


@pytest.mark.parametrize(
    ("agent", "words"),
    [
        (PHONE, "a phone"),
        (TABLET, "a tablet"),
        (DESK, "a computer"),
        ("", "an unknown device"),
        ("\x00<script>", "an unknown device"),
    ],
)
def test_a_device_is_named_in_plain_words(agent, words):
    assert device_of(agent) == words


def test_my_page_lists_where_i_am_signed_in_this_one_marked(me, desk, phone, other_student):
    signed_in(with_password(other_student), TABLET, "2026-03-02T10:00Z")
    with time_machine.travel("2026-03-02T12:00Z", tick=False):
        page = " ".join(phone.get(me.to("me")).content.decode().split())
    assert "a phone <strong>(this one)</strong>" in page
    assert "a computer since" in page
    assert "a tablet" not in page


def test_when_it_was_last_used_is_noted_at_most_once_in_a_quarter_of_an_hour(me, desk):
    def used_after(at):
        with time_machine.travel(at, tick=False):
            desk.get(me.to("me"))
            (place,) = signed_in_places(me.person, desk.session.session_key)
        return place.used.isoformat(timespec="minutes")[:16]

    assert used_after("2026-03-01T09:10Z") == "2026-03-01T09:00"
    assert used_after("2026-03-01T09:16Z") == "2026-03-01T09:16"
    with time_machine.travel("2026-03-01T09:17Z", tick=False):
        (place,) = signed_in_places(me.person, "")
    assert place.since.isoformat(timespec="minutes")[:16] == "2026-03-01T09:00"


def test_sign_out_everywhere_else(me, other_student):
    one, other = Client(), Client()
    theirs = Client()
    for client, member in ((one, me), (other, me), (theirs, with_password(other_student))):
        sign_in(client, member)
    answer = one.post(me.to("sign_out_elsewhere"))
    assert answer.url == me.to("me")
    assert one.get(me.to("me")).status_code == 200
    assert other.get(me.to("me")).url.startswith("/account/login/")
    assert theirs.get(other_student.to("me")).status_code == 200
    assert "Sign out everywhere else" not in one.get(me.to("me")).content.decode()


def test_it_is_not_done_by_looking_and_not_by_a_stranger(me, stranger, as_member):
    client = Client()
    sign_in(client, me)
    assert as_member(me).get(me.to("sign_out_elsewhere")).status_code == 405
    assert as_member(stranger).post(me.to("sign_out_elsewhere")).status_code == 404
    assert client.get(me.to("me")).status_code == 200


def test_another_password_ends_the_other_sessions_and_they_are_not_listed(me):
    here, elsewhere = Client(), Client()
    for client in (here, elsewhere):
        sign_in(client, me)
    new = "another very long one"
    here.post("/account/password/change/", {"oldpassword": PASSWORD, "password1": new, "password2": new})
    me.person.refresh_from_db()
    assert len(signed_in_places(me.person, here.session.session_key)) == 1
    assert elsewhere.get(me.to("me")).url.startswith("/account/login/")
    assert here.get(me.to("me")).status_code == 200


def test_who_is_not_signed_in_is_nowhere(me):
    client = Client()
    sign_in(client, me)
    client.post("/account/logout/")
    assert signed_in_places(me.person, "") == []


def test_no_session_lives_longer_than_a_year_however_often_it_is_used(me):
    start = dt.datetime(2026, 3, 1, 9, tzinfo=dt.UTC)
    client = signed_in(me, DESK, start)
    for day in range(0, 366, 60):  # each use has it live on
        with time_machine.travel(start + dt.timedelta(days=day), tick=False):
            assert client.get(me.to("me")).status_code == 200
    with time_machine.travel(start + dt.timedelta(days=366), tick=False):
        client.get(me.to("me"))
        assert client.get(me.to("me")).url.startswith("/account/login/")


def test_one_that_is_not_used_for_a_term_ends(me):
    start = dt.datetime(2026, 3, 1, 9, tzinfo=dt.UTC)
    client = signed_in(me, DESK, start)
    with time_machine.travel(start + dt.timedelta(days=181), tick=False):
        assert client.get(me.to("me")).url.startswith("/account/login/")


def test_somebody_is_signed_out_everywhere_on_the_machine_or_everybody(me, desk, phone, teacher, as_member):
    other, said = as_member(teacher), io.StringIO()
    with time_machine.travel("2026-03-03T10:00Z", tick=False):
        call_command("sign_out", me.person.username, stdout=said)
        assert said.getvalue() == "Sessions ended: 2.\n"
        for client in (desk, phone):
            assert client.get(me.to("me")).status_code == 302
    assert other.get(teacher.to("me")).status_code == 200
    call_command("sign_out", everybody=True, stdout=said)
    assert other.get(teacher.to("me")).status_code == 302
    with pytest.raises(CommandError, match="Nobody"):
        call_command("sign_out", "nobody.here")


def test_signing_in_makes_another_key(me):
    client = Client()
    client.get("/account/login/")
    client.cookies["sessionid"] = planted = "a" * 32
    sign_in(client, me)
    key = client.cookies["sessionid"].value
    assert key != planted
    assert len(key) == 32
    assert client.get(me.to("me")).status_code == 200
    other = Client()
    other.cookies["sessionid"] = planted
    assert other.get(me.to("me")).status_code == 302
