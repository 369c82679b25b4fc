"""The queue by keyboard alone."""

import re

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from lessons.answering import actions
from lessons.answering.models import Looking, Reply
from lessons.sending.models import Submission
from tests import factories as make


@pytest.fixture
def queue(desk, sign_in, teacher, student):
    """Three reeds that wait, the first of them in the order of need first."""
    rows = [make.sent_round(student, need=need) for need in (9, 5, 1)]
    sign_in(desk, teacher).goto(teacher.to("lessons:queue"))
    return desk, rows


def focused(page):
    return page.evaluate("document.activeElement.getAttribute('href')")


def test_the_arrows_move_and_enter_opens(queue, teacher):
    page, rows = queue
    address = [teacher.to("lessons:review", row.pk) for row in rows]
    for key, at in (
        ("ArrowDown", 0),
        ("ArrowDown", 1),
        ("ArrowDown", 2),
        ("ArrowDown", 2),
        ("ArrowUp", 1),
        ("ArrowUp", 0),
        ("End", 2),
        ("Home", 0),
    ):
        page.keyboard.press(key)
        assert focused(page) == address[at], key
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**{address[1]}")


def test_e_leads_to_the_list_from_wherever_one_is(queue, teacher):
    page, rows = queue
    page.get_by_role("button", name="Keys").focus()
    page.keyboard.press("ArrowDown")  # left to the page: the list has not the focus
    assert focused(page) is None
    page.keyboard.press("e")
    assert focused(page) == teacher.to("lessons:review", rows[0].pk)


def test_no_other_letter_does_anything(queue):
    page, _rows = queue
    page.keyboard.press("ArrowDown")
    before = focused(page)
    for key in ("j", "c", "u", "?", "/", "q"):
        page.keyboard.press(key)
        assert focused(page) == before, key
        expect(page.get_by_role("dialog")).to_have_count(0)
        assert not Looking.objects.exists(), key


def test_only_one_row_is_in_the_tab_order_and_it_is_seen_to_have_the_focus(queue):
    page, _rows = queue
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    assert page.locator("[data-row][tabindex='0']").count() == 1
    outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert outline == "solid"


def test_the_list_of_keys_opens_and_closes(queue, axe):
    page, _rows = queue
    page.keyboard.press("k")
    expect(page.get_by_role("dialog", name="Keys")).to_be_visible()
    axe(page)
    page.keyboard.press("Escape")
    expect(page.get_by_role("dialog", name="Keys")).to_be_hidden()
    axe(page)


def test_keys_are_not_taken_from_the_filters(queue):
    page, _rows = queue
    page.keyboard.press("s")
    before = page.evaluate("document.activeElement.id")
    assert before == "id_student"
    page.keyboard.press("i")
    assert page.evaluate("document.activeElement.id") == before
    assert not Looking.objects.exists()


def test_the_filter_swaps_the_list_and_the_keys_go_on(queue, teacher):
    page, rows = queue
    make.sent_round(make.student(studio=teacher.studio), need=30)
    page.get_by_label("Student").select_option(str(rows[0].student_id))
    page.wait_for_url(re.compile("student="))
    expect(page.locator("[data-row]")).to_have_count(3)
    page.keyboard.press("Tab")
    page.locator("h1").click()
    page.keyboard.press("ArrowDown")
    student = f"?student={rows[0].student_id}"
    assert focused(page) == teacher.to("lessons:review", rows[0].pk) + student


def test_a_reply_stands_above_the_list_until_it_is_opened(queue, teacher, student):
    page, _rows = queue
    row = make.sent_round(student, answered_at=timezone.now())
    Reply.objects.create(studio=row.studio, submission=row, by=student, words="I cut it.")
    page.reload()
    with page.expect_response("**/read/"):
        page.get_by_role("link", name="I cut it.").click()
    page.goto(teacher.to("lessons:queue"))
    expect(page.get_by_text("Said back, not read yet")).to_have_count(0)


def test_an_answered_reed_is_gone_and_t_takes_it_back(queue, teacher):
    page, rows = queue
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    expect(page.locator("[data-stage] svg.marks")).to_have_attribute("viewBox", re.compile(r"0 0 \d"))
    page.get_by_label("Your words").fill("Play it in.")
    page.get_by_label("play it").check(force=True)
    page.keyboard.press("Control+Enter")
    page.wait_for_url(f"**{teacher.to('lessons:review', rows[1].pk)}")
    page.goto(teacher.to("lessons:queue"))
    expect(page.locator("[data-row]")).to_have_count(2)
    page.locator("h1").click()
    page.keyboard.press("t")
    page.wait_for_url(f"**{teacher.to('lessons:review', rows[0].pk)}")
    expect(page.get_by_label("Your words")).to_have_value("Play it in.")
    assert Submission.objects.waiting().count() == 3


def test_i_says_i_have_this_one_and_once_more_lets_it_go(queue, teacher):
    page, rows = queue
    page.keyboard.press("i")  # no row has the focus: nothing happens
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("i")
    expect(page.locator(".queue li").nth(1).locator(".tag")).to_have_text("I have this one")
    assert [one.submission for one in Looking.objects.filter(has_it=True)] == [rows[1]]
    assert focused(page) == teacher.to("lessons:review", rows[1].pk)
    page.keyboard.press("i")
    expect(page.locator(".queue .tag")).to_have_count(0)
    assert not Looking.objects.filter(has_it=True).exists()


def test_i_leaves_a_reed_with_the_teacher_who_has_it(queue, teacher):
    page, rows = queue
    other = make.teacher(studio=teacher.studio)
    actions.claim(rows[0], other)
    page.keyboard.press("ArrowDown")
    page.keyboard.press("i")
    expect(page.locator(".queue li").first.locator(".tag")).to_have_text(f"{other} has this one")
    assert [one.member for one in Looking.objects.filter(has_it=True)] == [other]
