"""A studio's people in a browser: inviting at a desk, joining on a phone."""

from __future__ import annotations

import re

from playwright.sync_api import expect

from studio.models import Member
from tests import factories as make
from tests.browser.conftest import PHONE


def test_teacher_invites_and_a_student_joins_on_a_phone_without_an_email(desk, phone, sign_in, axe, teacher):
    desk.context.grant_permissions(["clipboard-read", "clipboard-write"])
    sign_in(desk, teacher).goto(teacher.to("people"))
    axe(desk)
    desk.get_by_role("link", name="Invite somebody").click()
    desk.get_by_label("Name").fill("Somebody New")
    desk.get_by_label("Under age").check()
    axe(desk)
    desk.get_by_role("button", name="Make the link").click()
    desk.get_by_role("button", name="Copy the link").click()
    expect(desk.get_by_text("Copied")).to_be_visible()
    link = desk.evaluate("navigator.clipboard.readText()")
    assert link == desk.get_by_role("textbox", name="The link").input_value()
    axe(desk)

    phone.goto(link)
    axe(phone)
    expect(phone.get_by_label("User name")).to_have_value("somebody.new")
    password = phone.get_by_label("Password", exact=True)
    password.fill("cane and thread and wax")
    phone.get_by_role("button", name="Show it").tap()
    expect(password).to_have_attribute("type", "text")
    phone.get_by_role("button", name="Join", exact=True).tap()
    expect(phone).to_have_url(re.compile("/desk/"))
    student = Member.objects.get(person__username="somebody.new")
    phone.goto(student.to("me"))
    expect(phone.get_by_text("once your guardian's consent is noted")).to_be_visible()
    axe(phone)

    desk.goto(teacher.to("member", student.pk))
    axe(desk)
    desk.get_by_label("Guardian's name").fill("A Guardian")
    desk.get_by_label("Consent given on").fill("2026-01-31")
    desk.get_by_role("button", name="Note the consent").click()
    expect(desk.get_by_text("A Guardian consented on")).to_be_visible()
    phone.reload()
    expect(phone.get_by_text("You can send photos")).to_be_visible()


def test_link_can_be_selected_without_script(open_page, sign_in, teacher):
    invitation = make.InvitationFactory(invited_by=teacher)
    page = sign_in(open_page(**PHONE, java_script_enabled=False), teacher)
    page.goto(teacher.to("invitation", invitation.pk))
    link = page.get_by_role("textbox", name="The link")
    assert link.input_value().endswith("/")
    link.select_text()
    expect(page.get_by_role("button", name="Copy the link")).to_be_hidden()
    expect(page.get_by_role("img", name="QR")).to_be_visible()


def test_every_people_page_fits_a_phone_and_axe_finds_nothing(phone, sign_in, axe, teacher, student):
    term = make.TermFactory(studio=teacher.studio, starts_on="2026-09-01", ends_on="2026-12-20")
    invitation = make.InvitationFactory(invited_by=teacher, email="new@example.org")
    make.student(studio=teacher.studio, under_age=True)
    sign_in(phone, teacher)
    for url in (
        teacher.to("people"),
        teacher.to("invitation", invitation.pk),
        teacher.to("member", student.pk),
        teacher.to("member", teacher.pk),
        teacher.to("terms"),
        teacher.to("edit_term", term.pk),
        teacher.to("studio_settings"),
        teacher.to("me"),
        "/account/password/change/",
        "/account/logout/",
        invitation.get_absolute_url(),
    ):
        phone.goto(url)
        axe(phone)
        assert phone.evaluate("document.documentElement.scrollWidth") <= PHONE["viewport"]["width"], url


def test_pages_for_nobody_signed_in_fit_a_phone_and_axe_finds_nothing(phone, axe, watch, teacher):
    watch.expect(404, 410)
    open_link = make.InvitationFactory(invited_by=teacher).get_absolute_url()
    closed = make.InvitationFactory(invited_by=teacher, revoked_at="2026-01-01T00:00Z").get_absolute_url()
    for url in ("/account/login/", "/account/password/reset/", open_link, closed, "/join/forged/"):
        phone.goto(url)
        axe(phone)
        assert phone.evaluate("document.documentElement.scrollWidth") <= PHONE["viewport"]["width"], url
