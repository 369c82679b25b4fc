"""What may be said of a term, on a phone: before any picture, without a sideways scroll, and acted on."""

import datetime as dt

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from lessons.term import views
from reeds.reed.models.measurement import Measurement
from tests import factories as make

TIED = [73.0, 72.5, 73.5, 73.0, 73.0, 72.5, 73.0, 73.5, 73.0, 73.0, 72.5, 73.0]
LEAST_PX = 12


@pytest.fixture
def term(teacher, student):
    """Twelve weeks in which this hand ties long."""
    today = make.today()
    starts, ends = today - dt.timedelta(days=84), today + dt.timedelta(days=14)
    term = make.TermFactory(studio=teacher.studio, starts_on=starts, ends_on=ends)
    for place, value in enumerate(TIED):
        at = timezone.now() - dt.timedelta(days=70 - 5 * place)
        reed = make.ReedFactory(owner=student, made_at=at)
        about = {"quantity": "tie_length", "value": value, "u": 0.2, "method": "ruler", "stage": "tied"}
        Measurement.objects.create(studio=reed.studio, reed=reed, at=at, by=student, **about)
    return term


def test_a_student_reads_on_a_phone_what_may_be_said_first(
    open_page, sign_in, axe_by_day_and_night, student, term
):
    page = open_page(viewport={"width": 390, "height": 844})
    sign_in(page, student).goto(student.to("lessons:term"))
    said = page.locator(".term-said")
    expect(said.get_by_text("of the last ten were tied")).to_be_in_viewport(ratio=1)
    assert said.bounding_box()["y"] < page.locator("#in-pictures").bounding_box()["y"]
    expect(said.get_by_role("link", name="Set an offset")).to_have_count(0)
    said.get_by_text("What cannot be said, and why").click()
    expect(said.get_by_text("whether the hand works more evenly")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    sizes = said.evaluate(
        "one => [...one.querySelectorAll('*')].map(each => parseFloat(getComputedStyle(each).fontSize))"
    )
    assert min(sizes) >= LEAST_PX
    axe_by_day_and_night(page)


def test_a_teacher_goes_from_the_sentence_to_the_offset_on_a_phone(
    open_page, sign_in, axe, teacher, student, term
):
    page = open_page(viewport={"width": 390, "height": 844})
    sign_in(page, teacher).goto(teacher.to("lessons:term"))
    link = page.get_by_role("link", name="Set an offset")
    assert link.bounding_box()["height"] >= 24
    axe(page)
    link.click()
    expect(page.get_by_label("tie length (mm)")).to_have_value("+1")
    page.get_by_label("Why").fill("plays sharp with the usual length")
    page.get_by_role("button", name="Keep it").click()
    expect(page.get_by_text("+1 mm").first).to_be_visible()
    assert dict(student.offsets.values_list("quantity", "delta"))["tie_length"] == 1.0
    page.goto(teacher.to("lessons:term", student.pk))
    expect(page.get_by_text("of the last ten were tied")).to_have_count(0)


def test_of_many_reeds_the_rest_comes_by_itself_and_the_drawing_chosen_stays(
    open_page, sign_in, axe, teacher, term, monkeypatch
):
    monkeypatch.setattr(views, "AT_ONCE", 1)
    page = open_page(viewport={"width": 1280, "height": 900})
    sign_in(page, teacher).goto(teacher.to("lessons:term"))
    expect(page.get_by_text("12 reeds made")).to_be_visible()
    expect(page.get_by_role("link", name="Show it")).to_have_count(0)
    expect(page.locator("figure").first).to_be_visible()
    axe(page)
