"""The review opens on the reed: flat at true scale, marks on the upright photo, others beside it."""

import re
import uuid

import pytest
from playwright.sync_api import expect

from lessons.answering import actions
from lessons.answering.annotation import read_drawn
from lessons.answering.models import Mark
from lessons.answering.pages.marked import marked_photos
from reeds.photo.models.measuring import PhotoMeasuring
from reeds.photo.tasks.look import look_at_photo
from reeds.reed.models.playing import PlayingTest, Rating
from tests import factories as make
from tests.browser.conftest import PHONE
from tests.browser.drawing_hands import kept, pick
from tests.on_card import photo_row, simulated, true_points

SCREENS = {
    "tablet": {"viewport": {"width": 820, "height": 1180}, "has_touch": True},
    "desk": {"viewport": {"width": 1280, "height": 800}},
    "phone": PHONE,
}
each_screen = pytest.mark.parametrize("screen", SCREENS.values(), ids=SCREENS)


def on_card(row, seed=7):
    """The round's only photo is one of a reed on the card, as the worker leaves it."""
    photo = photo_row(row.reed, simulated(seed), view="front")
    look_at_photo.func(photo.pk)
    row.photos.set([photo])
    return photo


@pytest.fixture
def found(sent):
    return on_card(sent)


def lie(page, stage="[data-stage]"):
    """px to a mm, by the bar of ten."""
    foot = page.locator(f".frame:has({stage}) [data-scale-bar]")
    return foot.evaluate("bar => bar.getBoundingClientRect().width") / 10


def seen_at(page, at):
    """Where a fraction of the photo is on the screen, as the page's own script has it."""
    return page.evaluate(
        """async ([[x, y], id]) => {
          const { lieOf } = await import("/static/js/lie.js");
          const thumb = document.querySelector(`[data-photo="${id}"]`);
          const lie = lieOf(thumb.dataset);
          const [u, v] = lie.to([x, y]);
          const leaf = document.querySelector("[data-stage] .leaf").getBoundingClientRect();
          return [leaf.left + (u - lie.box.left) * leaf.width / lie.box.width,
            leaf.top + (v - lie.box.top) * leaf.height / lie.box.height];
        }""",
        [list(at), page.locator("[data-photo]").first.get_attribute("data-photo")],
    )


def ends(photo):
    """Foot and tip as fractions of the photo."""
    points = true_points(simulated(7))
    return [(points[k][0] / photo.width, points[k][1] / photo.height) for k in ("staple_foot", "tip")]


@each_screen
def test_it_opens_on_the_reed_which_lies_flat_and_fills_the_stage(screen, open_page, look, found):
    page = look(open_page(**screen))
    stage = page.locator("[data-stage]").bounding_box()
    (x1, y1), (x2, y2) = (seen_at(page, end) for end in ends(found))
    assert x2 - x1 > 0.7 * stage["width"]
    assert abs(y2 - y1) < 0.05 * (x2 - x1)
    for x, y in ((x1, y1), (x2, y2)):
        assert stage["x"] < x < stage["x"] + stage["width"]
        assert stage["y"] < y < stage["y"] + stage["height"]
    length = simulated(7).lengths["overall_length"]
    assert (x2 - x1) / lie(page) == pytest.approx(length, rel=0.04)
    expect(page.locator("[data-scale-said]").first).to_have_text(
        re.compile(r"^10 mm · about (1 : [\d.]+|[\d.]+ : 1)$")
    )


def test_zooming_out_shows_the_rest_of_the_photo_and_the_key_leads_back(desk, look, found):
    page = look(desk)
    page.wait_for_timeout(300)
    before, stage = lie(page), page.locator("[data-stage]").bounding_box()
    page.get_by_role("button", name="the whole photo").first.click()
    assert lie(page) < 0.8 * before
    for corner in ((0, 0), (1, 0), (1, 1), (0, 1)):
        x, y = seen_at(page, corner)
        assert stage["x"] - 2 <= x <= stage["x"] + stage["width"] + 2
        assert stage["y"] - 2 <= y <= stage["y"] + stage["height"] + 2
    page.locator("main").press("0")
    assert lie(page) == pytest.approx(before, rel=0.01)


def test_a_line_drawn_on_the_flat_reed_stands_on_the_upright_photo_with_its_doubt(desk, look, found, sent):
    page = look(desk)
    pick(page, "line")
    expect(page.locator("[data-hint]")).to_contain_text("nobody has set its points")
    start, stop = (seen_at(page, end) for end in ends(found))
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move(*stop, steps=4)
    page.mouse.up()
    (mark,) = kept(page)
    for drawn, true in zip(mark.drawn.points, ends(found), strict=True):
        assert drawn == pytest.approx(true, abs=0.002)
    (marked,) = marked_photos([found], Mark.objects.all())
    said = marked.shown[0].words
    assert re.fullmatch(r"about \d\d\.\d ± \d\.\d mm", said)
    expect(page.locator("[data-note-length]")).to_have_text(said)
    value, doubt = (float(number) for number in re.findall(r"[\d.]+", said))
    assert doubt > 0.017 * value
    assert abs(value - simulated(7).lengths["overall_length"]) < 2 * doubt


def test_a_mark_from_before_stands_where_it_stood_on_the_photo(desk, look, found, sent, teacher):
    at = ends(found)[1]
    drawn = read_drawn({"kind": "point", "points": [list(at)]})
    actions.put_mark(actions.answer_of(sent, teacher), found, uuid.uuid4(), drawn)
    page = look(desk)
    page.wait_for_timeout(300)
    box = page.locator("[data-stage] .mark-point .ink").bounding_box()
    middle = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    assert middle == pytest.approx(tuple(seen_at(page, at)), abs=1.5)


def test_a_photo_that_was_measured_is_opened_first_and_lies_closer(desk, look, sent):
    opening = make.ready_photo(sent.reed, view="opening")
    measured = make.measured_photo(sent.reed)
    sent.photos.set([opening, measured])
    page = look(desk)
    chosen = page.locator('[data-photo][aria-pressed="true"]')
    expect(chosen).to_have_attribute("data-photo", str(measured.pk))
    expect(page.locator("[data-scale-said]").first).to_have_text(re.compile(r"^10 mm · [\d.]+ : [\d.]+$"))
    page.locator("main").press("[")
    expect(page.locator("[data-scale]").first).to_be_hidden()


@pytest.fixture
def others(sent, student, teacher):
    """A reed that played at the same stage, and the teacher's model."""
    type(sent).objects.filter(pk=sent.pk).update(stage="playing")
    before = make.sent_round(student, days=9, reed=make.ReedFactory(owner=student, stage="playing"))
    on_card(before, 8)
    test = PlayingTest.objects.create(studio=before.studio, reed=before.reed, by=student)
    Rating.objects.create(studio=before.studio, test=test, item="tuning", speaks=4)
    model = make.ReedFactory(owner=teacher, is_model=True)
    make.measured_photo(model)
    return before.reed, model


@each_screen
def test_one_key_lays_the_others_beside_it_at_the_same_scale(
    screen, open_page, look, found, others, axe, watch
):
    page = look(open_page(**screen))
    beside = page.locator("[data-beside]")
    names = []
    for _press in range(2):
        page.locator("main").press("b")
        expect(beside).to_be_visible()
        page.wait_for_timeout(400)
        names.append(beside.locator("[data-beside-name]").inner_text())
        mm = beside.evaluate(
            """async (frame) => {
              const { lieOf } = await import("/static/js/lie.js");
              const thumb = document.querySelector('[data-beside-photo][aria-pressed="true"]');
              const leaf = frame.querySelector(".leaf").getBoundingClientRect();
              return leaf.width / lieOf(thumb.dataset).box.width;
            }"""
        )
        assert mm == pytest.approx(lie(page), rel=0.01)
        axe(page)
    before, model = others
    assert names == [
        f"Last at this stage and best other: reed {before.number}: "
        "it came to play, rated 4.0 of 5 (1 rating)",
        f"Model: reed {model.number}",
    ]
    page.get_by_role("button", name="larger").first.click()
    page.wait_for_timeout(200)
    button = page.get_by_role("button", name=f"Model: reed {model.number}")
    expect(button).to_have_attribute("aria-pressed", "true")
    button.click()
    expect(beside).to_be_hidden()


COVERED = """() => {
  const seen = [...document.querySelectorAll(
    "main :is(a, button, textarea, summary, .stage, .question, .said > li, dd)")];
  const clipped = (element) => {
    let box = element.getBoundingClientRect();
    let [left, top, right, bottom] = [Math.max(0, box.left), Math.max(0, box.top),
      Math.min(innerWidth, box.right), Math.min(innerHeight, box.bottom)];
    for (let around = element.parentElement; around; around = around.parentElement) {
      if (getComputedStyle(around).overflow === "visible") continue;
      box = around.getBoundingClientRect();
      [left, top] = [Math.max(left, box.left), Math.max(top, box.top)];
      [right, bottom] = [Math.min(right, box.right), Math.min(bottom, box.bottom)];
    }
    return [left, top, right, bottom];
  };
  return seen.filter((element) => element.checkVisibility({ visibilityProperty: true })).filter((element) => {
    const [left, top, right, bottom] = clipped(element);
    if (right - left < 4 || bottom - top < 4) return false;
    return [0.2, 0.5, 0.8].some((share) => {
      const at = document.elementFromPoint(left + (right - left) / 2, top + (bottom - top) * share);
      return at && !element.contains(at) && !at.contains(element);
    });
  }).map((element) => element.outerHTML.slice(0, 120));
}"""


@pytest.mark.parametrize("press", ["", "b"])
def test_on_a_tablet_question_and_causes_come_first_and_nothing_covers_anything(
    press, open_page, look, found, others, teacher, student, sent
):
    many = [make.finding("above", message=f"Cause {n}.", next_step="Clip it.") for n in range(4)]
    type(sent).objects.filter(pk=sent.pk).update(question="Which blade do I begin with?", findings=many)
    page = look(open_page(**SCREENS["tablet"]))
    if press:
        page.locator("main").press(press)
        expect(page.locator("[data-beside]")).to_be_visible()
    tops = [
        page.locator(part).first.bounding_box()["y"] for part in (".question", ".said li", "[data-stage]")
    ]
    assert tops == sorted(tops)
    assert tops[0] < 400
    stage = page.locator("[data-stage]").bounding_box()
    assert stage["y"] + stage["height"] <= 1180
    colour = page.locator("[data-stage]").evaluate("stage => getComputedStyle(stage).backgroundColor")
    assert min(int(part) for part in re.findall(r"\d+", colour)[:3]) > 180  # a light stage
    height = page.evaluate("document.documentElement.scrollHeight")
    for top in range(0, height, 700):
        page.evaluate("top => scrollTo(0, top)", top)
        assert page.evaluate(COVERED) == []
    over = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert over <= 0
    assert PhotoMeasuring.objects.filter(laid__isnull=False).count() == 2
