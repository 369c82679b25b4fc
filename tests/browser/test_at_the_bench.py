"""A student at the bench on a phone, a teacher at the sheet on a desk, and both without script."""

import pytest
from playwright.sync_api import expect

from reeds.reed.models.reed import Reed
from reeds.sheet.actions import sheet as sheet_actions
from reeds.sheet.models.pattern import Pattern
from tests.browser.conftest import DESK, PHONE


@pytest.fixture
def studio(transactional_db, student):
    sheet_actions.give_starters(student.studio)
    return student.studio


def make_two(page, student):
    page.goto(student.to("reeds:make"))
    page.get_by_role("radio", name="45").check()
    open_part(page, "More")
    page.get_by_label("How far is it").select_option("tied")
    page.get_by_label("How many alike").fill("2")
    page.get_by_role("button", name="Make", exact=True).click()


def open_part(page, name):
    page.locator("summary", has_text=name).click()


def test_student_makes_measures_clips_and_takes_a_step_on_the_phone(phone, sign_in, studio, student, axe):
    make_two(sign_in(phone, student), student)
    corks = phone.locator(".corks .cork")
    expect(corks).to_have_text(["1", "2"])
    axe(phone)
    corks.first.click()

    open_part(phone, "Add numbers")
    phone.get_by_role("textbox", name="Tie length (mm)").fill("72,5")
    axe(phone)
    phone.get_by_role("button", name="Keep these numbers").click()
    expect(phone.locator(".strip")).to_contain_text("72.5 ± 0.2 mm")

    for _clip in range(2):
        open_part(phone, "Clipped")
        phone.get_by_label("Clipped (mm)").fill("0.5")
        phone.get_by_role("button", name="Note the clip").click()
    expect(phone.locator(".reed-stage")).to_contain_text("clipped 1.0 ± 0.3 mm in all")

    open_part(phone, "A step on or back")
    phone.get_by_role("button", name="Note the step").click()
    expect(phone.locator(".reed-stage")).to_contain_text("Bound")
    axe(phone)
    assert Reed.objects.get(owner=student, number=1).stage == "bound"


def test_wrong_number_keeps_the_part_open_and_what_was_typed(phone, sign_in, studio, student, watch):
    make_two(sign_in(phone, student), student)
    phone.locator(".corks .cork").first.click()
    watch.expect(422)
    open_part(phone, "Clipped")
    phone.get_by_label("Clipped (mm)").fill("half")
    phone.get_by_role("button", name="Note the clip").click()
    field = phone.get_by_label("Clipped (mm)")
    expect(field).to_be_visible()
    expect(field).to_have_value("half")


def test_without_script_each_form_of_a_reeds_page_has_a_page_of_its_own(open_page, sign_in, studio, student):
    page = sign_in(open_page(**PHONE, java_script_enabled=False), student)
    make_two(page, student)
    page.locator(".corks .cork").first.click()
    open_part(page, "Clipped")
    page.locator("#clip").get_by_role("link", name="Show it").click()
    page.get_by_label("Clipped (mm)").fill("0.5")
    page.get_by_role("button", name="Note the clip").click()
    expect(page.locator(".reed-stage")).to_contain_text("clipped 0.5 ± 0.2 mm in all")


def test_list_is_narrowed_as_soon_as_one_chooses_and_back_goes_back(desk, sign_in, studio, student):
    make_two(sign_in(desk, student), student)
    desk.goto(student.to("reeds:reeds"))
    rows = desk.locator("#rows .cork")
    expect(rows).to_have_count(2)
    desk.get_by_label("Stage").select_option("playing")
    expect(rows).to_have_count(0)
    assert "stage=playing" in desk.url
    desk.go_back()
    expect(rows).to_have_count(2)
    expect(desk.get_by_role("heading", level=1)).to_have_count(1)


@pytest.mark.parametrize("script", [True, False])
def test_teacher_changes_a_sheet_and_adds_a_row(open_page, sign_in, studio, teacher, script):
    page = sign_in(open_page(**DESK, java_script_enabled=script), teacher)
    pattern = Pattern.objects.get(studio=studio, style="short")
    page.goto(teacher.to("reeds:pattern_edit", pattern.pk))
    page.get_by_label("Another row").select_option("heart_length")
    page.get_by_role("button", name="Add the row").click()
    row = page.get_by_role("group", name="Heart length")
    row.get_by_label("low").fill("4")
    row.get_by_label("high").fill("6")
    page.get_by_label("What changed, and why").fill("the heart too")
    page.get_by_role("button", name="Save as a new version").click()
    expect(page.get_by_role("status").first).to_contain_text("Version 2 is saved")
    assert pattern.current.sheet.limit_for("heart_length").high == 6.0


def test_student_makes_reeds_without_script(open_page, sign_in, studio, student):
    page = sign_in(open_page(**PHONE, java_script_enabled=False), student)
    make_two(page, student)
    expect(page.locator(".corks .cork")).to_have_count(2)
