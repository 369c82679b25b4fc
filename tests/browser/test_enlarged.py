"""A photo is enlarged by a tap: pinched, double tapped, turned over, its marks on, off and one at a time."""

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from lessons.answering.models import Answer, Mark
from lessons.sending.models import Submission
from tests import factories as make
from tests.studio.serving import wait_until


@pytest.fixture
def answered(student, teacher):
    """A round of two photos; on the first of them are two marks."""
    round_ = make.sent_round(student, photos=2)
    now = timezone.now()
    Submission.objects.filter(pk=round_.pk).update(answered_at=now, read_at=now)
    of_it = {"studio": round_.studio, "submission": round_}
    answer = Answer.objects.create(**of_it, author=teacher, sent_at=now, decision="rest")
    first = round_.photos.first()
    for kind, words in (("point", "thin here"), ("line", "bind to there")):
        annotation = make.mark(kind, words)
        Mark.objects.create(studio=round_.studio, answer=answer, photo=first, annotation=annotation)
    return round_


class Stage:
    """The enlarged photo under fingers, which reach it by the browser's own way in."""

    def __init__(self, page):
        self.page, self.cdp = page, page.context.new_cdp_session(page)
        self.dialog = page.locator("dialog#enlarged")
        self.leaf = self.dialog.locator(".leaf")
        self.marks = self.dialog.locator(".leaf .mark:visible")

    def touch(self, kind, *places):
        """Put fingers at places of the stage, given as fractions of it."""
        box = self.dialog.locator("[data-enlarged-stage]").bounding_box()
        points = [{"x": box["x"] + x * box["width"], "y": box["y"] + y * box["height"]} for x, y in places]
        self.cdp.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    def swipe(self, start, end):
        self.touch("touchStart", (start, 0.5))
        self.touch("touchMove", ((start + end) / 2, 0.5))
        self.touch("touchMove", (end, 0.5))
        self.touch("touchEnd")

    def pinch(self, start, end):
        self.touch("touchStart", (0.5 - start, 0.5), (0.5 + start, 0.5))
        self.touch("touchMove", (0.5 - end, 0.5), (0.5 + end, 0.5))
        self.touch("touchEnd")

    def double_tap(self):
        """Tap twice; where the machine stood still between, they were two taps, so once more."""
        for _attempt in range(9):
            if self.zoom > 1:
                return
            for _tap in range(2):
                self.touch("touchStart", (0.5, 0.5))
                self.touch("touchEnd")
        pytest.fail("two taps do not zoom")

    @property
    def zoom(self):
        box = self.dialog.locator("[data-enlarged-stage]").bounding_box()
        leaf = self.leaf.bounding_box()
        return max(leaf["width"] / box["width"], leaf["height"] / box["height"])


def test_a_photo_is_enlarged_by_a_tap_turned_over_and_its_marks_are_shown_one_by_one(
    phone, sign_in, student, answered, axe_by_day_and_night
):
    sign_in(phone, student).goto(student.to("lessons:round", answered.pk))
    photo = phone.locator("a.marked-photo").first
    photo.tap()
    stage = Stage(phone)
    expect(stage.marks).to_have_count(2)
    axe_by_day_and_night(phone)

    stage.dialog.get_by_role("button", name="only mark 2").tap()
    expect(stage.marks).to_have_count(1)
    expect(stage.dialog.locator("[data-enlarged-words]")).to_contain_text("bind to there")
    for left in (0, 2):
        stage.dialog.get_by_role("button", name="Marks", exact=True).tap()
        expect(stage.marks).to_have_count(left)

    stage.pinch(0.1, 0.3)
    wait_until(lambda: stage.zoom == pytest.approx(3, abs=0.1))
    stage.swipe(0.8, 0.2)  # moves what is zoomed
    expect(stage.dialog.locator("[data-enlarged-name]")).to_contain_text("1 / 2")
    stage.dialog.get_by_role("button", name="the whole photo").tap()
    stage.double_tap()
    phone.keyboard.press("0")
    wait_until(lambda: stage.zoom == pytest.approx(1))

    stage.swipe(0.8, 0.2)
    expect(stage.dialog.locator("[data-enlarged-name]")).to_contain_text("2 / 2")
    expect(stage.marks).to_have_count(0)
    phone.keyboard.press("ArrowLeft")
    expect(stage.dialog.locator("[data-enlarged-name]")).to_contain_text("1 / 2")
    phone.keyboard.press("m")
    expect(stage.marks).to_have_count(0)
    phone.keyboard.press("Escape")
    expect(stage.dialog).to_be_hidden()
    expect(photo).to_be_focused()
