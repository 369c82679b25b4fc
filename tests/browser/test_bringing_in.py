"""A list kept elsewhere, from the box to its reeds and back, on a phone and on a desk."""

import pytest
from playwright.sync_api import expect

from reeds.reed.models.reed import Reed
from tests import factories as make
from tests.browser.conftest import DESK, PHONE

WIDTHS = {"phone": PHONE, "desk": DESK}
TEXT = (
    "No;Started;Length (cm);Low notes;Colour;Notes\n"
    "1;3/4/2026;7,25;speaks at once;red;=cmd|' /C calc'!A0\n"
    "2;5/4/2026;7,2;2;blue;\n"
    "3;6/4/2026;72;2;blue;\n"
)


@pytest.fixture
def student(transactional_db, teacher):
    make.VersionFactory(pattern__studio=teacher.studio)
    return make.student(studio=teacher.studio)


def fits(page):
    """Nothing has to be pushed aside to be read, tables in their own frame left aside."""
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wide <= 0, f"{page.url} is {wide} px too wide"


def choose_the_file(page, student, text, axe):
    page.goto(student.to("reeds:box"))
    page.get_by_role("link", name="Bring in a list of reeds kept elsewhere").click()
    axe(page)
    fits(page)
    page.get_by_label("The list").set_input_files(
        {"name": "my reeds.csv", "mimeType": "text/csv", "buffer": text.encode("cp1252")}
    )
    page.get_by_role("button", name="Look at it").click()
    page.wait_for_url("**/logs/*/")


@pytest.mark.parametrize("width", WIDTHS)
def test_from_the_box_to_its_reeds_and_back(open_page, sign_in, student, axe, watch, width):
    watch.expect(422)
    page = sign_in(open_page(**WIDTHS[width]), student)
    choose_the_file(page, student, TEXT, axe)
    main = page.get_by_role("main")
    expect(main).to_contain_text("Nothing is written yet.")
    expect(main).to_contain_text("parted by semicolons")
    expect(main).to_contain_text("Leave out the columns that are not known: Started, Length (cm), Colour")
    axe(page)
    fits(page)

    page.get_by_label("Started", exact=True).select_option("made_on")
    page.get_by_label("Length (cm)", exact=True).select_option("tie_length")
    page.get_by_role("button", name="Look again").click()
    expect(main).to_contain_text("3 rows cannot be used")
    page.get_by_label("Days under “Started” such as 3/4/2026").select_option("day")
    page.get_by_role("button", name="Look again").click()
    expect(main).to_contain_text("2 new reeds")
    expect(main).to_contain_text("Row 4, “Length (cm)”: 72 cannot be right for tie length.")
    expect(page.get_by_role("cell", name="=cmd|' /C calc'!A0")).to_be_attached()
    axe(page)
    fits(page)

    page.get_by_role("button", name="Bring it in").click()
    expect(page.get_by_role("alert").first).to_contain_text("Some columns are not known")
    page.get_by_label("Leave out the columns that are not known: Colour").check()
    page.get_by_label("Leave out the 1 row that cannot be used").check()
    assert not Reed.objects.exists()
    page.get_by_role("button", name="Bring it in").click()
    expect(main).to_contain_text("This came of it:")
    expect(main).to_contain_text("1 row was left out.")
    axe(page)
    fits(page)
    assert sorted(Reed.objects.values_list("number", flat=True)) == [1, 2]

    page.goto(student.to("reeds:reed", Reed.objects.get(number=1).pk))
    expect(main).to_contain_text("from a list that was brought in")
    expect(main).to_contain_text("=cmd|' /C calc'!A0")
    page.go_back()
    page.get_by_role("button", name="Take it back as one").click()
    expect(main).to_contain_text("Taken back on")
    assert not Reed.objects.exists()


def test_it_is_done_by_keys_alone(open_page, sign_in, student, watch):
    page = sign_in(open_page(**DESK), student)
    page.goto(student.to("lessons:logs"))
    page.get_by_label("The list").set_input_files(
        {"name": "reeds.csv", "mimeType": "text/csv", "buffer": b"reed,made on\n1,2026-03-04\n"}
    )
    page.get_by_label("The list").focus()
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_url("**/logs/*/")
    page.get_by_role("button", name="Bring it in").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("main")).to_contain_text("1 new reed")
    assert Reed.objects.get().number == 1
