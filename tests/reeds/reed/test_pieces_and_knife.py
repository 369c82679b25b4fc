"""Pieces of cane bought, made and left, and the day on which a knife was sharpened."""

from __future__ import annotations

import datetime as dt

import pytest
from django.utils import timezone

from lessons.lesson.models import SetWork
from reeds.reed.models.cane import CaneLot
from reeds.reed.models.knife import Knife
from tests import factories as make
from tests.reeds.form import fields_of


@pytest.fixture
def bag(student):
    return make.CaneFactory(owner=student, label="bag of May", pieces=8)


def made_of(bag, number, **given):
    return [make.ReedFactory(owner=bag.owner, cane=bag, **given) for _reed in range(number)]


@pytest.mark.parametrize(
    ("made", "lost", "says"),
    [
        (0, 0, "8 pieces left"),
        (3, 0, "5 pieces left"),
        (3, 1, "down to 4 pieces"),
        (7, 0, "down to 1 piece"),
        (8, 0, "down to 0 pieces"),
        (9, 0, "more was made of it than bought: count the bag"),
    ],
)
def test_the_list_says_how_many_are_left(student, as_member, bag, made, lost, says):
    made_of(bag, made)
    CaneLot.objects.update(lost=lost)
    page = " ".join(as_member(student).get(student.to("reeds:cane")).text.split())
    assert says in page
    assert f"8 bought, {made} made" in page


def test_a_lot_that_nobody_counted_says_nothing_of_what_is_left(student, as_member):
    made_of(make.CaneFactory(owner=student, label="a bag"), 2)
    page = as_member(student).get(student.to("reeds:cane")).text
    assert "2 reeds" in page
    assert "left" not in page
    assert "down to" not in page


def test_a_reed_taken_out_and_a_lot_used_up_are_not_counted(student, as_member, bag):
    made_of(bag, 2, taken_out_at=timezone.now())
    client = as_member(student)
    assert "8 pieces left" in client.get(student.to("reeds:cane")).text
    client.post(student.to("reeds:cane_finish", bag.pk))
    assert "pieces left" not in client.get(student.to("reeds:cane")).text


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ({"pieces": "2"}, "3 pieces are gone (3 made, 0 lost): there must have been more."),
        ({"pieces": "8", "lost": "6"}, "9 pieces are gone (3 made, 6 lost)"),
        ({"pieces": "-1"}, "greater than or equal to 0"),
        ({"pieces": "a dozen"}, "Enter a whole number."),
        ({"pieces": "2001"}, "A lot has at most 2000 pieces."),
        ({"lost": "-2"}, "greater than or equal to 0"),
    ],
)
def test_a_count_that_cannot_be_is_refused(student, as_member, bag, given, sentence):
    made_of(bag, 3)
    client, address = as_member(student), student.to("reeds:cane_lot", bag.pk)
    answer = client.post(address, fields_of(client.get(address)) | given)
    assert answer.status_code == 422
    assert sentence in answer.text
    bag.refresh_from_db()
    assert (bag.pieces, bag.lost) == (8, 0)


def test_pieces_are_noted_with_the_lot_and_may_stay_empty(student, as_member):
    client = as_member(student)
    client.post(student.to("reeds:cane_add"), {"label": "one", "pieces": "20", "lost": "1"})
    client.post(student.to("reeds:cane_add"), {"label": "two"})
    assert list(CaneLot.objects.order_by("pk").values_list("pieces", "lost")) == [(20, 1), (None, 0)]


def set_work(student, count, reeds=()):
    work = SetWork.objects.create(studio=student.studio, student=student, words="blanks", count=count)
    work.reeds.set(reeds)
    return work


def test_desk_and_work_say_that_the_work_wants_more_than_the_bag_has(
    student, teacher, other_student, as_member, bag
):
    reeds = made_of(bag, 3)
    work = set_work(student, 4, reeds[:1])
    set_work(other_student, 9)
    desk = student.to("lessons:desk")
    assert 'id="stock"' not in as_member(student).get(desk).text
    set_work(student, 3)
    wanted = "The work that is set wants 6 pieces; 5 left in all."
    pages = [
        as_member(student).get(desk).text,
        as_member(student).get(student.to("lessons:work", work.pk)).text,
        as_member(teacher).get(teacher.to("lessons:work", work.pk)).text,
    ]
    for page in pages:
        assert wanted in " ".join(page.split())


def test_the_desk_says_that_a_bag_runs_low(student, as_member, bag):
    made_of(bag, 4)
    page = " ".join(as_member(student).get(student.to("lessons:desk")).text.split())
    assert "bag of May</a>: down to 4 pieces" in page


# --- the knife ---


def test_a_knife_sharpened_today_stands_on_the_box_of_its_owner_and_the_teacher_reads_it(
    student, teacher, other_student, as_member
):
    make.ReedFactory(owner=student, stage="tied")
    client, box = as_member(student), student.to("reeds:box")
    assert "is not noted" in client.get(box).text
    assert client.post(student.to("reeds:sharpened")).status_code == 302
    assert Knife.objects.get().sharpened_on == make.today()
    assert "My knife was last sharpened on" in client.get(box).text
    assert "Knife last sharpened:" in as_member(teacher).get(teacher.to("reeds:box")).text
    assert "is not noted" in as_member(other_student).get(box).text


def test_only_the_last_day_is_kept_and_none_to_come(student, as_member):
    client = as_member(student)
    client.post(student.to("reeds:sharpened"), {"sharpened_on": "2026-03-02"})
    client.post(student.to("reeds:sharpened"), {"sharpened_on": "2026-03-09"})
    assert Knife.objects.get().sharpened_on == dt.date(2026, 3, 9)
    later = (make.today() + dt.timedelta(days=3)).isoformat()
    for wrong in (later, "some day"):
        told = client.post(student.to("reeds:sharpened"), {"sharpened_on": wrong}, follow=True).text
        assert "That day has not come yet." in told or "Enter a valid date." in told
    assert Knife.objects.get().sharpened_on == dt.date(2026, 3, 9)


def test_another_studio_reads_nothing_of_a_knife(student, stranger, as_member):
    as_member(student).post(student.to("reeds:sharpened"))
    assert as_member(stranger).get(student.to("reeds:box")).status_code == 404
    assert as_member(stranger).post(student.to("reeds:sharpened")).status_code == 404
    assert "is not noted" in as_member(stranger).get(stranger.to("reeds:box")).text
