"""A second step at signing in: codes from the phone, codes to print, and teachers of whom it is demanded."""

from __future__ import annotations

import io

import pytest
import time_machine
from allauth.mfa.models import Authenticator
from django.contrib.sessions.models import Session
from django.core.management import CommandError, call_command
from django.test import Client

from studio.models import SignInLink
from studio.second_step import has_second_step
from tests import factories as make
from tests.studio.second_steps import (
    CODES,
    PASSWORD,
    SET_UP,
    STEP,
    a_wrong_code,
    code,
    set_up_phone,
    sign_in,
    with_password,
    with_phone,
)

pytestmark = pytest.mark.django_db
NOON = "2026-03-02T12:00:05Z"
INDEX = "/account/second-step/"


def who(client):
    return client.session.get("_auth_user_id")


@pytest.fixture
def clock():
    """Noon, five seconds into the life of a code."""
    with time_machine.travel(NOON, tick=False) as traveller:
        yield traveller


# --- setting up and signing in -------------------------------------------------------------------------
def test_a_phone_is_set_up_and_its_code_asked_after_the_password(student, as_member, clock):
    secret, printed = set_up_phone(as_member(with_password(student)))
    assert len(printed) == len(set(printed)) == 10
    later = Client()
    clock.shift(60)
    assert sign_in(later, student).url == STEP
    assert who(later) is None
    assert later.get(student.to("me")).url.startswith("/account/login/")
    assert later.post(STEP, {"code": code(secret)}).url == "/"
    assert who(later) == str(student.person_id)


def test_setting_up_asks_for_the_password_and_refuses_a_wrong_code(student, as_member, clock):
    client = as_member(with_password(student))
    assert client.get(SET_UP).url.startswith("/account/reauthenticate/")
    assert client.post("/account/reauthenticate/", {"password": "wrong"}).status_code == 200
    assert client.get(SET_UP).status_code == 302
    client.post("/account/reauthenticate/", {"password": PASSWORD})
    secret = client.get(SET_UP).context["form"].secret
    assert "does not fit" in client.post(SET_UP, {"code": a_wrong_code(secret)}).content.decode()
    assert not has_second_step(student.person)


def test_a_wrong_code_signs_nobody_in(student, clock):
    client = Client()
    sign_in(client, with_phone(student))
    for wrong in (a_wrong_code(), "", "x" * 5000, code(later_s=-90), code(later_s=90)):
        answer = client.post(STEP, {"code": wrong})
        assert answer.status_code == 200
        assert who(client) is None
    assert "does not fit" in answer.content.decode()


def test_a_code_works_once(student, clock):
    first, second = Client(), Client()
    sign_in(first, with_phone(student))
    sign_in(second, student)
    first.post(STEP, {"code": code()})
    assert who(first)
    assert "does not fit" in second.post(STEP, {"code": code()}).content.decode()
    assert who(second) is None
    clock.shift(30)
    second.post(STEP, {"code": code()})
    assert who(second)


def test_a_printed_code_signs_in_once_and_is_shown_once(student, as_member, clock):
    own = as_member(with_password(student))
    _secret, printed = set_up_phone(own)
    again = own.get(CODES).content.decode()
    assert not any(one in again for one in printed)
    assert own.get(f"{CODES}download/").status_code == 403
    for client, signed_in in ((Client(), True), (Client(), False)):
        sign_in(client, student)
        client.post(STEP, {"code": printed[3]})
        assert bool(who(client)) is signed_in


def test_new_codes_end_the_old_ones(student, as_member, clock):
    own = as_member(with_password(student))
    _secret, printed = set_up_phone(own)
    assert own.post(f"{CODES}generate/").url == CODES
    other = Client()
    sign_in(other, student)
    other.post(STEP, {"code": printed[0]})
    assert who(other) is None


def test_who_guesses_codes_is_stopped_even_with_the_right_one(student, clock):
    client = Client()
    sign_in(client, with_phone(student))
    for _turn in range(6):
        answer = client.post(STEP, {"code": a_wrong_code()})
    assert "Too many" in answer.content.decode()
    client.post(STEP, {"code": code()})
    assert who(client) is None
    clock.shift(301)
    client.post(STEP, {"code": code()})
    assert who(client)


def test_a_link_for_a_new_password_does_not_pass_by_the_second_step(student, teacher, as_member, clock):
    with_phone(student)
    as_member(teacher).post(teacher.to("make_sign_in_link", student.pk))
    link = SignInLink.objects.get(member=student)
    client = Client()
    assert client.post(link.get_absolute_url(), {"password": "another very long one"}).url == STEP
    assert who(client) is None
    assert client.post(STEP, {"code": code()}).url == student.to("home")
    assert who(client) == str(student.person_id)


def test_setting_up_ends_what_was_signed_in_by_the_password_alone(
    student, as_member, clock, django_capture_on_commit_callbacks
):
    own, elsewhere = as_member(with_password(student)), as_member(student)
    assert elsewhere.get(student.to("me")).status_code == 200
    with django_capture_on_commit_callbacks(execute=True):
        set_up_phone(own)
    assert elsewhere.get(student.to("me")).status_code == 302
    assert own.get(student.to("me")).status_code == 200


def test_the_pages_say_what_is_set_up_and_nothing_of_others(student, other_student, as_member):
    with_phone(student)
    assert "Do without the phone" in as_member(student).get(INDEX).content.decode()
    other = as_member(other_student)
    assert "Do without the phone" not in other.get(INDEX).content.decode()
    assert other.post("/account/second-step/totp/deactivate/").status_code == 404
    assert has_second_step(student.person)


def test_a_passkey_of_another_cannot_be_removed_or_renamed(student, other_student, as_member):
    key = Authenticator.objects.create(
        user=student.person, type="webauthn", data={"name": "Mine", "credential": {}}
    )
    client = as_member(with_password(other_student))
    client.post("/account/reauthenticate/", {"password": PASSWORD})
    for verb in ("remove", "edit"):
        path = f"{INDEX}webauthn/keys/{key.pk}/{verb}/"
        assert client.get(path).status_code == 404
        assert client.post(path, {"name": "Theirs"}).status_code == 404
    key.refresh_from_db()
    assert key.data["name"] == "Mine"


FORGED = [
    "",
    "x",
    "[]",
    "{}",
    "5",
    "9" * 5000,
    "[" * 20000,
    '{"id": "AA", "response": {"userHandle": "1"}}',
    '{"id": "AA", "rawId": "AA", "type": "public-key", "response": {"userHandle": "MQ", '
    '"clientDataJSON": "e30", '
    '"authenticatorData": "AA", "signature": "AA", "attestationObject": "AA"}}',
]


@pytest.mark.parametrize("forged", FORGED, ids=lambda text: text[:12])
def test_a_forged_passkey_signs_nobody_in(client, forged):
    answer = client.post(f"{INDEX}webauthn/login/", {"credential": forged}, follow=True)
    assert answer.redirect_chain[-1][0] == "/account/login/"
    assert who(client) is None


@pytest.mark.parametrize("forged", FORGED, ids=lambda text: text[:12])
def test_a_forged_passkey_is_no_second_step_and_is_not_added(client, student, forged):
    sign_in(client, with_phone(student))
    assert client.post(STEP, {"credential": forged}).status_code == 200
    assert who(client) is None
    client.force_login(student.person)
    client.post("/account/reauthenticate/", {"password": PASSWORD})
    client.get(f"{INDEX}webauthn/add/")
    answer = client.post(f"{INDEX}webauthn/add/", {"name": "Mine", "credential": forged})
    assert answer.status_code == 200
    assert not Authenticator.objects.filter(user=student.person, type="webauthn").exists()


def test_who_tries_passkeys_again_and_again_is_stopped(client):
    answers = [client.post(f"{INDEX}webauthn/login/", {"credential": "{}"}) for _turn in range(11)]
    assert [answer.status_code for answer in answers] == [302] * 10 + [429]
    assert "Too many tries" in answers[-1].content.decode()


def test_who_tries_to_be_somebody_again_and_again_is_stopped(student, as_member):
    client = as_member(with_password(student))
    for _turn in range(11):
        answer = client.post("/account/reauthenticate/", {"password": "wrong"})
    assert answer.status_code == 429
    assert client.post("/account/reauthenticate/", {"password": PASSWORD}).status_code == 429


def test_no_browser_keeps_pages_with_codes_and_keys(student, other_student, as_member):
    own, other = as_member(with_password(student)), as_member(with_password(other_student))
    set_up_phone(own)
    other.post("/account/reauthenticate/", {"password": PASSWORD})
    for answer in (own.get(INDEX), own.get(CODES), other.get(SET_UP)):
        assert answer.status_code == 200
        assert "no-store" in answer["Cache-Control"]


# --- demanded of teachers ------------------------------------------------------------------------------
@pytest.fixture
def demanding(teacher):
    teacher.studio.teachers_second_step = True
    teacher.studio.save()
    return teacher


def test_a_teacher_says_whether_it_is_demanded(teacher, as_member):
    assert not teacher.studio.teachers_second_step
    given = {"name": "N", "time_zone": "UTC", "a4_hz": "442", "teachers_second_step": "on"}
    as_member(teacher).post(teacher.to("studio_settings"), given)
    teacher.studio.refresh_from_db()
    assert teacher.studio.teachers_second_step


@pytest.mark.parametrize("name", ["home", "me", "people", "studio_settings", "lessons:queue"])
def test_a_teacher_without_one_is_led_to_set_it_up_first(demanding, as_member, name):
    client = as_member(demanding)
    for answer in (client.get(demanding.to(name)), client.post(demanding.to(name))):
        assert answer.url == f"{INDEX}?demanded=1"
    assert client.get(demanding.to(name), headers={"HX-Request": "true"})["HX-Redirect"].startswith(INDEX)


def test_that_teacher_can_set_it_up_or_leave_and_then_all_is_open(demanding, as_member, clock):
    client = as_member(with_password(demanding))
    assert "has its teachers sign in" in client.get("/", follow=True).content.decode()
    assert client.get("/account/logout/").status_code == 200
    set_up_phone(client)
    assert client.get(demanding.to("people")).status_code == 200


def test_printed_codes_alone_are_no_second_step(demanding, as_member):
    Authenticator.objects.create(user=demanding.person, type="recovery_codes", data={"used_mask": 0})
    assert as_member(demanding).get(demanding.to("people")).status_code == 302


def test_it_is_demanded_of_no_student_and_of_no_other_studio(demanding, student, stranger, as_member):
    assert as_member(student).get(student.to("me")).status_code == 200
    assert as_member(stranger).get(stranger.to("people")).status_code == 200
    assert as_member(stranger).get(demanding.to("people")).status_code == 404
    here_too = make.teacher(studio=stranger.studio, person=demanding.person)
    assert as_member(demanding).get(here_too.to("people")).status_code == 200


# --- phone and codes lost ------------------------------------------------------------------------------
def test_a_teacher_takes_a_students_second_step_away(student, teacher, as_member):
    with_phone(student)
    client = as_member(teacher)
    assert "Take the second step away" in client.get(teacher.to("member", student.pk)).content.decode()
    assert client.post(teacher.to("drop_second_step", student.pk)).url == teacher.to("member", student.pk)
    assert not has_second_step(student.person)
    assert "Take the second step away" not in client.get(teacher.to("member", student.pk)).content.decode()


def test_not_that_of_a_teacher_or_of_whoever_is_elsewhere_too(student, teacher, stranger, as_member):
    fellow = make.teacher(studio=teacher.studio)
    make.student(studio=stranger.studio, person=student.person)
    for member in (fellow, student):
        with_phone(member)
        as_member(teacher).post(teacher.to("drop_second_step", member.pk))
        assert has_second_step(member.person)


def test_only_a_teacher_of_this_studio_does(student, other_student, stranger, as_member):
    with_phone(student)
    for member in (student, other_student, stranger):
        assert as_member(member).post(student.to("drop_second_step", student.pk)).status_code == 404
    assert has_second_step(student.person)


def test_a_teachers_is_taken_away_on_the_machine(teacher):
    with_phone(teacher)
    said = io.StringIO()
    call_command("second_step", teacher.person.username, stdout=said)
    assert has_second_step(teacher.person)
    call_command("second_step", teacher.person.username, "--take-away", stdout=said)
    assert not has_second_step(teacher.person)
    assert "with a second step" in said.getvalue().splitlines()[0]
    assert "by password" in said.getvalue().splitlines()[1]
    with pytest.raises(CommandError, match="Nobody"):
        call_command("second_step", "nobody.here")


def test_challenges_for_strangers_are_counted_and_kept_for_minutes_alone(client, clock):
    ask = {"headers": {"x-requested-with": "XMLHttpRequest"}}
    answers = [Client().get(f"{INDEX}webauthn/login/", **ask) for _turn in range(31)]
    assert [answer.status_code for answer in answers] == [200] * 30 + [429]
    assert Session.objects.count() == 30
    clock.shift(11 * 60)
    call_command("clearsessions")
    assert not Session.objects.exists()


def test_who_signs_in_after_a_challenge_stays_for_the_term(client, student):
    client.get(f"{INDEX}webauthn/login/", headers={"x-requested-with": "XMLHttpRequest"})
    assert client.session.get_expiry_age() <= 600
    client.force_login(with_password(student).person)
    assert client.session.get_expiry_age() >= 150 * 24 * 3600
