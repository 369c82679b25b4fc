"""The pictures of a term in a real Chromium: at both widths, by day and by night, on paper, by keyboard."""

import datetime as dt

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from reeds.reed.models.measurement import Measurement
from reeds.reed.models.reed import ReedEvent
from tests import factories as make

WIDTHS = {"phone": (390, 844), "desk": (1280, 800)}
SMALL = (340, 700)
LEAST_PX = 12
# how large each written thing of a picture comes out, whatever the picture was scaled by
WRITTEN = """() => [...document.querySelectorAll("main svg text")]
  .filter((text) => text.checkVisibility())
  .map((text) => {
    const svg = text.ownerSVGElement;
    const scale = svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
    return { words: text.textContent, px: parseFloat(getComputedStyle(text).fontSize) * scale,
      box: text.getBoundingClientRect().toJSON(), frame: svg.getBoundingClientRect().toJSON() };
  })"""
TOO_SMALL = """least => [...document.querySelectorAll("main *")]
  .filter((one) => one.checkVisibility() && !one.closest("svg"))
  .filter((one) => [...one.childNodes].some((node) => node.nodeType === 3 && node.textContent.trim()))
  .filter((one) => parseFloat(getComputedStyle(one).fontSize) < least)
  .map((one) => one.outerHTML.slice(0, 80))"""


def ago(days):
    return timezone.now() - dt.timedelta(days=days)


def made(student, days, tied, found, *, plays):
    """A reed with numbers, findings and a life."""
    reed = make.ReedFactory(owner=student, made_at=ago(days), stage="playing" if plays else "played_out")
    steps = [("playing", days - 2), *([] if plays else [("played_out", days - 12)])]
    for stage, at in steps:
        ReedEvent.objects.create(studio=reed.studio, reed=reed, kind="stage", to_stage=stage, at=ago(at))
    for key, value in (("tie_length", tied), ("cane_beyond_thread", tied - 46.0), ("scrape_length", 11.2)):
        about = {"quantity": key, "value": value, "u": 0.2, "method": "ruler", "stage": "tied"}
        Measurement.objects.create(studio=reed.studio, reed=reed, at=ago(days), **about)
    findings = [make.finding(outcome, quantity=key, check="limits") for key, outcome in found]
    make.SubmissionFactory(reed=reed, sent_at=ago(days - 1), stage="tied", findings=findings)
    return reed


@pytest.fixture
def term(teacher, student):
    """Twelve weeks with eight reeds, two photos and two takes."""
    today = make.today()
    starts, ends = today - dt.timedelta(days=84), today + dt.timedelta(days=14)
    long, far, low = (("tie_length", "above"),), (("unevenness", "above"), ("tie_length", "above")), ()
    numbers = (
        (73.5, long),
        (72.4, low),
        (79.0, far),
        (71.8, low),
        (73.2, far),
        (72.0, low),
        (72.1, low),
        (72.2, low),
    )
    reeds = [
        made(student, 80 - 9 * k, tied, found, plays=k % 3 == 0) for k, (tied, found) in enumerate(numbers)
    ]
    for reed, days in ((reeds[0], 70), (reeds[-1], 5)):
        make.measured_photo(reed)
        make.ready_take(reed, at=ago(days))
    return make.TermFactory(studio=teacher.studio, starts_on=starts, ends_on=ends)


PAGES = {
    "student": lambda student, teacher: (student, student.to("lessons:term")),
    "teacher of one": lambda student, teacher: (teacher, teacher.to("lessons:term", student.pk)),
    "teacher of all": lambda student, teacher: (teacher, teacher.to("lessons:term")),
}


@pytest.fixture(params=PAGES)
def asked(request, student, teacher, term):
    return PAGES[request.param](student, teacher)


@pytest.mark.parametrize("width", WIDTHS)
def test_pictures_can_be_read(width, open_page, sign_in, axe_by_day_and_night, asked):
    across, high = WIDTHS[width]
    page = open_page(viewport={"width": across, "height": high})
    member, path = asked
    sign_in(page, member).goto(path)
    unfold(page, "#in-pictures")
    written = page.evaluate(WRITTEN)
    assert len(written) > 10
    small = [one for one in written if one["px"] < LEAST_PX]
    assert not small, small
    cut = [one["words"] for one in written if not inside(one["box"], one["frame"])]
    assert not cut, cut
    assert page.evaluate(TOO_SMALL, LEAST_PX) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= across
    axe_by_day_and_night(page)
    page.get_by_role("link", name="Show the tables behind this").press("Enter")
    expect(page.locator(".reckoned")).to_be_visible()
    unfold(page, "main details")
    assert page.locator("main details:not([open])").count() == 0
    assert page.evaluate("document.documentElement.scrollWidth") <= across
    axe_by_day_and_night(page)


def unfold(page, folds):
    """Open whatever is still folded of these: on a student's own page the pictures of numbers are."""
    for fold in page.locator(f"{folds} > summary").all():
        if fold.evaluate("one => !one.parentElement.open"):
            fold.press("Enter")
    expect(page.locator("main details[open] > [hx-get]")).to_have_count(0)  # what comes when it is unfolded


def test_a_students_pictures_come_when_they_are_unfolded(phone, sign_in, student, term):
    sign_in(phone, student).goto(student.to("lessons:term"))
    expect(phone.locator("#in-pictures .pictures")).to_have_count(0)
    unfold(phone, "#in-pictures")
    expect(phone.get_by_role("heading", name="What was measured")).to_be_visible()
    assert phone.url.endswith(student.to("lessons:term"))
    assert phone.locator("h1").count() == 1


def inside(box, frame):
    """Whether what is written lies in its picture, to a pixel."""
    return box["left"] >= frame["left"] - 1 and box["right"] <= frame["right"] + 1


@pytest.mark.parametrize("width", [*WIDTHS, "small phone"])
def test_no_two_words_of_a_picture_lie_over_one_another(width, open_page, sign_in, asked):
    across, high = WIDTHS.get(width, SMALL)
    page = open_page(viewport={"width": across, "height": high})
    member, path = asked
    sign_in(page, member).goto(path)
    unfold(page, "#in-pictures")
    assert min(one["px"] for one in page.evaluate(WRITTEN)) >= LEAST_PX
    assert page.evaluate("document.documentElement.scrollWidth") <= across
    boxes = [(one["words"], one["box"]) for one in page.evaluate(WRITTEN)]
    over = [(a, b) for k, (a, one) in enumerate(boxes) for b, other in boxes[:k] if overlap(one, other)]
    assert over == []


def overlap(one, other):
    """Whether two boxes share more than the air around their letters."""
    across = min(one["right"], other["right"]) - max(one["left"], other["left"])
    down = min(one["bottom"], other["bottom"]) - max(one["top"], other["top"])
    return across > 1 and down > 4


@pytest.mark.parametrize(
    ("width", "mm", "said"), [(390, 88, "1 : 1"), (1280, 176, "2 : 1"), (360, 44, "1 : 2")]
)
def test_the_photos_lie_at_the_scale_that_is_said(width, mm, said, open_page, sign_in, student, term):
    page = open_page(viewport={"width": width, "height": 800})
    sign_in(page, student).goto(student.to("lessons:term"))
    first, latest = (page.locator(".true-scale img").nth(k).bounding_box() for k in (0, 1))
    for box in (first, latest):
        assert box["width"] == pytest.approx(mm * 96 / 25.4, abs=0.6)
        assert box["x"] + box["width"] <= width
    assert first["x"] == latest["x"]
    expect(page.get_by_text(f"about {said}")).to_be_visible()


def test_on_paper_photos_have_their_true_size_and_pictures_stay_whole(desk, sign_in, student, term):
    sign_in(desk, student).goto(student.to("lessons:term"))
    desk.emulate_media(media="print")
    desk.set_viewport_size({"width": 688, "height": 1017})  # A4 less its margins
    for k in (0, 1):
        box = desk.locator(".true-scale img").nth(k).bounding_box()
        assert box["width"] == pytest.approx(88 * 96 / 25.4, abs=0.6)
    expect(desk.get_by_text("True size, if the printer")).to_be_visible()
    assert desk.evaluate("document.documentElement.scrollWidth") <= 688
    assert min(one["px"] for one in desk.evaluate(WRITTEN)) >= 11  # 8 pt


def test_by_keyboard_from_the_studio_to_a_student_and_back(desk, sign_in, teacher, student, term):
    sign_in(desk, teacher).goto(teacher.to("lessons:term"))
    desk.get_by_label("What is drawn").select_option("scrape_length")
    desk.get_by_role("button", name="Draw").press("Enter")
    expect(desk.get_by_role("heading", name="Scrape length")).to_be_in_viewport()
    desk.get_by_role("link", name=str(student)).press("Enter")
    expect(desk.get_by_role("heading", level=1)).to_contain_text(str(student))
    desk.get_by_role("link", name="The whole studio").press("Enter")
    expect(desk.get_by_label("What is drawn")).to_be_visible()


def test_both_takes_can_be_played(desk, sign_in, student, term):
    sign_in(desk, student).goto(student.to("lessons:term"))
    for k in (0, 1):
        sound = desk.locator(".heard audio").nth(k)
        sound.evaluate("audio => audio.play()")
        expect(sound).to_have_js_property("error", None)
        assert sound.evaluate("audio => audio.duration") > 1


def test_the_studios_tables_unfold_in_place(desk, sign_in, axe, teacher, term):
    sign_in(desk, teacher).goto(teacher.to("lessons:term"))
    desk.get_by_role("link", name="Show the tables behind this").press("Enter")
    expect(desk.get_by_text("How many came to play")).to_be_visible()
    assert desk.url.endswith(teacher.to("lessons:term"))
    assert desk.locator("h1").count() == 1
    axe(desk)
