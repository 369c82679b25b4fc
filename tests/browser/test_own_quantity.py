"""A quantity and a thing seen of a studio's own, from the page that adds them to the term, on every width."""

import datetime as dt

import pytest
from playwright.sync_api import expect

from reeds.reed.models.measurement import Measurement
from reeds.sheet.actions import sheet as sheet_actions
from reeds.sheet.models.own import OwnQuantity
from reeds.sheet.models.pattern import Pattern
from tests import factories as make
from tests.browser.conftest import DESK, PHONE

TABLET = {"viewport": {"width": 820, "height": 1180}, "has_touch": True, "device_scale_factor": 2}
WIDTHS = {"phone": PHONE, "tablet": TABLET, "desk": DESK}


@pytest.fixture
def sheet(transactional_db, student):
    sheet_actions.give_starters(student.studio)
    today = make.today()
    make.TermFactory(
        studio=student.studio, starts_on=today - dt.timedelta(days=20), ends_on=today + dt.timedelta(days=1)
    )
    return Pattern.objects.get(studio=student.studio, style="short")


def fits(page):
    """Nothing has to be pushed aside to be read."""
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wide <= 0, f"{page.url} is {wide} px too wide"


def add_both(page, teacher, axe):
    page.goto(teacher.to("reeds:patterns"))
    page.get_by_role("link", name="What the studio notes besides").click()
    page.get_by_role("link", name="Add a number").click()
    page.get_by_label("Name").fill("angle of the corners")
    page.get_by_label("Unit", exact=True).select_option("°")
    page.get_by_label("Asked when it is").select_option("finishing")
    page.get_by_label("Never less than").fill("0")
    page.get_by_label("Never more than").fill("90")
    page.get_by_label("Usually measured with").select_option("eye")
    axe(page)
    fits(page)
    page.get_by_role("button", name="Keep it").click()
    expect(page.locator(".errorlist")).to_contain_text("Say how far off one reading may be.")
    expect(page.get_by_label("Name")).to_have_value("angle of the corners")
    page.get_by_label("Doubt of one reading").fill("2,5")
    page.get_by_role("button", name="Keep it").click()
    page.get_by_role("link", name="Add a thing seen").click()
    page.get_by_label("Name").fill("the rails")
    page.get_by_label("Asked when it is").select_option("finishing")
    page.get_by_label("Choices, one a line").fill("both kept\none gone")
    page.get_by_role("button", name="Keep it").click()
    expect(page.locator(".own-row")).to_have_count(2)
    axe(page)
    fits(page)


def put_on_the_sheet(page, sheet):
    page.locator(".own-row").first.get_by_role("link", name=f"to the sheet {sheet.name}").click()
    page.get_by_role("button", name="Add the row").click()
    row = page.get_by_role("group", name="Angle of the corners")
    row.get_by_label("low").fill("20")
    row.get_by_label("aim").fill("30")
    row.get_by_label("high").fill("40")
    fits(page)
    page.get_by_label("What changed, and why").fill("the corners tell")
    page.get_by_role("button", name="Save as a new version").click()
    expect(page.get_by_role("status").first).to_contain_text("Version 2 is saved")


def send_one(page, student, reed, axe):
    page.goto(student.to("lessons:draft", reed.pk))
    page.get_by_role("textbox", name="angle of the corners").fill("55")
    expect(page.locator("#checked")).to_contain_text("55 ° is above the high limit of 40.")
    page.locator("#at-bench summary").click()
    page.locator("#at-bench .chip", has_text="one gone").click()
    page.locator("#at-bench .chip", has_text="one thicker").click()
    expect(page.locator("#checked")).to_contain_text("One corner of the tip is thicker than the other.")
    expect(page.locator("#kept")).to_have_text("Kept on the server.")
    axe(page)
    fits(page)
    page.get_by_role("button", name="Send it to your teacher").click()
    page.wait_for_url("**/rounds/**")
    expect(page.get_by_role("main")).to_contain_text("one gone")


@pytest.mark.parametrize("width", WIDTHS)
def test_own_quantity_from_page_to_term(open_page, sign_in, sheet, teacher, student, axe, watch, width):
    watch.expect(422)
    desk = sign_in(open_page(**WIDTHS[width]), teacher)
    add_both(desk, teacher, axe)
    put_on_the_sheet(desk, sheet)
    reed = make.ReedFactory(owner=student, stage="finishing", version=sheet.current)

    page = sign_in(open_page(**WIDTHS[width]), student)
    send_one(page, student, reed, axe)
    angle, rails = OwnQuantity.objects.order_by("pk")
    kept = {row.quantity: row for row in Measurement.objects.filter(reed=reed)}
    assert (kept[angle.key].value, kept[angle.key].u, kept[angle.key].own) == (55.0, 2.5, angle)
    assert (kept[rails.key].word, kept[rails.key].by) == ("choice_2", student)

    desk.goto(teacher.to("lessons:review", reed.submissions.get().pk))
    expect(desk.locator(".stage-numbers")).to_contain_text("55")
    desk.locator("summary", has_text="The rest").click()
    desk.locator("summary", has_text="At the bench").click()
    expect(desk.locator("details", has_text="the rails").first).to_contain_text("one gone")

    desk.goto(teacher.to("lessons:term"))
    expect(desk.get_by_role("heading", name="Angle of the corners")).to_be_visible()
    expect(desk.get_by_role("img", name=f"{student} over the term: 1 number")).to_be_visible()
    page.goto(student.to("lessons:term"))
    page.locator("summary", has_text="All numbers, in pictures").click()
    expect(page.locator(".once")).to_contain_text("Angle of the corners: 55")
    for reader in (desk, page):
        reader.get_by_role("link", name="Show the tables behind this").click()
        reader.locator("summary", has_text="How far they came").click()
        expect(reader.get_by_role("row", name="one gone")).to_contain_text("1 of 1: 100 %")
        axe(reader)
        fits(reader)
