"""The guardian's way: invited, signed in on a phone, the child's answer read, the consent taken back."""

from __future__ import annotations

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from lessons.answering.models import Answer
from tests import factories as make
from tests.browser.conftest import PHONE


@pytest.fixture
def child(teacher):
    return make.student(
        studio=teacher.studio, under_age=True, guardian_name="On paper", guardian_consent_on="2026-01-31"
    )


@pytest.fixture
def answered(child, teacher):
    row = make.sent_round(child, photos=1, answered_at=timezone.now())
    given = {"submission": row, "author": teacher, "decision": "rest", "sent_at": timezone.now()}
    Answer.objects.create(studio=teacher.studio, words="Leave it alone for a week.", **given)
    return row


def test_a_guardian_joins_reads_and_takes_the_consent_back(
    transactional_db, open_page, desk, sign_in, axe, teacher, child, answered
):
    sign_in(desk, teacher).goto(teacher.to("reeds:reed", answered.reed_id))
    expect(desk.locator(".thumbs img")).to_be_visible()
    desk.goto(teacher.to("invite"))
    desk.get_by_label("Name", exact=True).fill("Ada Guardian")
    desk.get_by_label("Role").select_option("guardian")
    desk.get_by_role("checkbox", name=str(child)).check()
    desk.get_by_role("button", name="Make the link").click()
    link = desk.locator(".give-link input").input_value()

    phone = open_page(**PHONE)
    phone.goto(link)
    expect(phone.get_by_text(str(child))).to_be_visible()
    phone.get_by_label("Password", exact=True).fill("cane thread staple")
    phone.get_by_role("button", name="Join", exact=True).click()
    expect(phone.get_by_role("heading", name=str(child))).to_be_visible()
    axe(phone)
    phone.get_by_role("link", name="Let it rest").click()
    expect(phone.get_by_text("Leave it alone for a week.")).to_be_visible()
    expect(phone.locator(".marked-photo img")).to_be_visible()

    phone.get_by_role("link", name="Reeds and answers").click()
    phone.get_by_role("link", name="Give it or take it back").click()
    axe(phone)
    phone.get_by_role("button", name="Take the consent back").click()
    expect(phone.get_by_text("hidden from everybody").first).to_be_visible()
    assert phone.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    axe(phone)

    desk.goto(teacher.to("reeds:reed", answered.reed_id))
    expect(desk.get_by_text("Hidden: consent was withdrawn on")).to_be_visible()
    expect(desk.locator(".thumbs img")).to_have_count(0)
