"""The teacher's pages by day and by night, from a desk to a phone: nothing hidden, nothing illegible."""

import uuid

import pytest
from playwright.sync_api import expect

from lessons.answering import actions
from lessons.answering.annotation import read_drawn
from lessons.answering.models import Mark, Phrase
from tests import factories as make

SIZES = {"desk": (1280, 800), "tablet": (1024, 768), "upright tablet": (820, 1180), "phone": (390, 844)}


@pytest.fixture
def sent(teacher, student):
    reed = make.ReedFactory(owner=student)
    make.sent_round(student, reed=reed, days=30)
    row = make.sent_round(student, reed=reed, round=2, photos=3, question="Is it airtight?")
    row.findings = [make.finding("above"), make.finding("contradiction")]
    row.save()
    answer = actions.answer_of(row, teacher)
    for kind in ("arrow", "line", "point"):
        actions.put_mark(answer, row.photos.first(), uuid.uuid4(), read_drawn(make.drawn(kind)))
    Phrase.objects.create(studio=teacher.studio, teacher=teacher, words="A few strokes a side.")
    actions.look(row, make.teacher(studio=teacher.studio))
    return row


@pytest.mark.parametrize("size", SIZES)
def test_every_page_of_a_teacher_can_be_read_and_fits(
    size, open_page, sign_in, axe_by_day_and_night, teacher, sent
):
    width, height = SIZES[size]
    page = open_page(viewport={"width": width, "height": height})
    sign_in(page, teacher)
    for name, more in (("queue", []), ("review", [sent.pk]), ("phrases", [])):
        page.goto(teacher.to(f"lessons:{name}", *more))
        axe_by_day_and_night(page)
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= width, name


def test_at_a_desk_photo_words_and_the_way_on_are_seen_without_scrolling(desk, sign_in, teacher, sent):
    sign_in(desk, teacher).goto(teacher.to("lessons:review", sent.pk))
    for part in ("[data-stage]", "[data-tools]", ".thumbs", "#id_words", ".send button", ".question"):
        expect(desk.locator(part).first).to_be_in_viewport(ratio=1)
    assert Mark.objects.count() == desk.locator("[data-stage] .badge").count()


@pytest.mark.parametrize("size", ["desk", "upright tablet"])
def test_question_and_causes_come_first_and_nothing_covers_them(size, open_page, sign_in, teacher, sent):
    width, height = SIZES[size]
    page = open_page(viewport={"width": width, "height": height})
    sign_in(page, teacher).goto(teacher.to("lessons:review", sent.pk))
    for part in (".question", ".said li", "[data-stage]", "#id_words"):
        expect(page.locator(part).first).to_be_in_viewport(ratio=1)
    top = {
        part: page.locator(part).first.bounding_box()["y"]
        for part in (".question", ".said li", "[data-stage]")
    }
    assert top[".question"] < top[".said li"]
    if size == "upright tablet":
        assert top[".said li"] < top["[data-stage]"]
    for part in (".question", ".said li"):
        box = page.locator(part).first.bounding_box()
        middle = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
        at = "([x, y, part]) => Boolean(document.elementFromPoint(x, y).closest(part))"
        assert page.evaluate(at, [*middle, part]), f"something covers {part}"


def test_a_cause_unfolds_by_keyboard_and_says_its_step(desk, sign_in, teacher, student):
    finding = make.finding("above", message="It is long.", next_step="Clip a little.")
    row = make.sent_round(student, findings=[finding])
    sign_in(desk, teacher).goto(teacher.to("lessons:review", row.pk))
    step = desk.locator(".said").get_by_text("Clip a little.")
    expect(step).to_be_hidden()
    desk.locator(".said summary").press("Enter")
    expect(step).to_be_visible()
