"""Signing in by a passkey and by a code from the phone, in a browser with a device that it makes up."""

from __future__ import annotations

import re

import pytest
from django.core import mail
from playwright.sync_api import expect

from tests.studio.second_steps import PASSWORD, code, with_password

DEVICE = {
    "protocol": "ctap2",
    "transport": "internal",
    "hasResidentKey": True,
    "hasUserVerification": True,
    "isUserVerified": True,
    "automaticPresenceSimulation": True,
}


@pytest.fixture
def fingerprint(desk):
    """Give the page a device that keeps passkeys; return what says whether it recognizes its user."""
    session = desk.context.new_cdp_session(desk)
    session.send("WebAuthn.enable")
    made = session.send("WebAuthn.addVirtualAuthenticator", {"options": DEVICE})

    def is_recognized(yes):
        session.send(
            "WebAuthn.setUserVerified", {"authenticatorId": made["authenticatorId"], "isUserVerified": yes}
        )

    return is_recognized


def by_password(page, member):
    page.goto("/account/login/")
    page.get_by_label("User name or e-mail").fill(member.person.username)
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()


def sign_out(page):
    page.goto("/account/logout/")
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/account/login/**")


def confirm(page):
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Go on").click()


def test_a_passkey_is_added_and_signs_in_alone(desk, fingerprint, axe, student):
    by_password(desk, with_password(student))
    desk.goto(student.to("me"))
    desk.get_by_role("link", name="A second step").click()
    desk.get_by_role("link", name="Add a passkey").click()
    axe(desk)
    confirm(desk)
    expect(desk.get_by_label("A name for it")).to_have_value("Passkey 1")
    axe(desk)
    desk.get_by_label("A name for it").fill("My desk")
    desk.get_by_role("button", name="Add it").click()
    expect(desk.get_by_role("heading", name="Codes to print")).to_be_visible()
    expect(desk.locator("li code")).to_have_count(10)
    axe(desk)
    desk.get_by_role("link", name="go on").click()
    expect(desk.get_by_text("My desk")).to_be_visible()
    axe(desk)
    told = [letter.body for letter in mail.outbox if letter.to == [student.person.email]]
    assert any("A passkey was added: it signs you in." in body for body in told)
    sign_out(desk)

    fingerprint(False)
    desk.get_by_role("button", name="Sign in with a passkey").click()
    expect(desk.get_by_text("No passkey was used")).to_be_visible()
    axe(desk)
    fingerprint(True)
    desk.get_by_role("button", name="Sign in with a passkey").click()
    desk.wait_for_url(f"**{student.to('home')}**")
    expect(desk.get_by_role("link", name=str(student.person))).to_be_visible()
    sign_out(desk)

    # after the password it is the second step
    by_password(desk, student)
    expect(desk.get_by_role("heading", name="The second step")).to_be_visible()
    axe(desk)
    desk.get_by_role("button", name="Use a passkey").click()
    desk.wait_for_url(f"**{student.to('home')}**")

    # and it says that one is oneself before it is taken away
    desk.goto("/account/second-step/webauthn/")
    axe(desk)
    desk.get_by_role("link", name="Remove My desk").click()
    desk.get_by_role("link", name="By a passkey").click()
    axe(desk)
    desk.get_by_role("button", name="Use a passkey").click()
    desk.get_by_role("button", name="Remove it").click()
    expect(desk.get_by_text("There is none.")).to_be_visible()


def test_a_teacher_of_whom_it_is_demanded_sets_the_phone_up(phone, axe, teacher):
    teacher.studio.teachers_second_step = True
    teacher.studio.save()
    by_password(phone, with_password(teacher))
    expect(phone.get_by_text("has its teachers sign in with a second step")).to_be_visible()
    axe(phone)
    phone.get_by_role("link", name="Set up the phone").click()
    confirm(phone)
    expect(phone.get_by_role("img", name="QR code")).to_be_visible()
    axe(phone)
    assert phone.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    secret = phone.get_by_label("The letters").input_value()
    assert re.fullmatch("[A-Z2-7]{32}", secret)
    phone.get_by_label("Authenticator code").fill(code(secret))
    phone.get_by_role("button", name="Set it up").click()
    printed = phone.locator("li code").first.inner_text()
    phone.goto(teacher.to("people"))
    expect(phone.get_by_role("heading", level=1)).to_have_text("People")
    sign_out(phone)

    by_password(phone, teacher)
    phone.get_by_label("Code").fill(printed)
    phone.get_by_role("button", name="Sign in", exact=True).click()
    phone.wait_for_url(f"**{teacher.to('home')}**")
