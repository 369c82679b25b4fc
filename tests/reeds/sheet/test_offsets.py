"""What one student's instrument wants beside the sheet."""

from __future__ import annotations

import pytest

from reeds.checks.sheet import Sheet
from reeds.reed.facts import sheet_of
from reeds.sheet.actions import sheet as sheet_actions
from reeds.sheet.models.pattern import Offset
from reeds.sheet.starters import STARTERS
from tests import factories as make
from tests.reeds.form import fields_of


@pytest.fixture
def address(teacher, student) -> str:
    sheet_actions.give_starters(teacher.studio)
    return teacher.to("reeds:offsets", student.pk)


def test_teacher_sets_one_millimetre_and_what_follows_moves_with_it(teacher, student, as_member, address):
    client = as_member(teacher)
    fields = fields_of(client.get(address))
    assert client.post(address, fields | {"tie_length": "+1", "why": "plays sharp"}).status_code == 302
    expected = {"tie_length": 1.0, "cane_beyond_staple": 1.0, "overall_length": 1.0}
    assert Offset.objects.of(student) == expected
    reed = make.ReedFactory(owner=student, staple_length=45.0)
    assert sheet_of(reed).limit_for("tie_length", 45.0).aim == 73.0


def test_teacher_sets_the_tie_length_alone_and_takes_it_back(teacher, student, as_member, address):
    client = as_member(teacher)
    client.post(address, {"tie_length": "-0,5"})
    assert Offset.objects.of(student) == {"tie_length": -0.5}
    assert "follow" not in fields_of(client.get(address))
    client.post(address, {"tie_length": ""})
    client.post(address, {"tie_length": "0", "why": ""})
    assert Offset.objects.of(student) == {}


@pytest.mark.parametrize("typed", ["7", "one", "1 in"])
def test_offset_that_cannot_be_right_is_said_and_kept_on_the_page(
    teacher, student, as_member, address, typed
):
    answer = as_member(teacher).post(address, {"tie_length": typed, "why": "so it is"})
    assert answer.status_code == 422
    assert typed in answer.content.decode()
    assert "so it is" in answer.content.decode()
    assert Offset.objects.of(student) == {}


def test_student_sees_their_own_and_nobody_elses(student, other_student, teacher, as_member, address):
    sheet_actions.set_offsets(student, teacher, {"tie_length": 1.0}, "plays sharp")
    client = as_member(student)
    page = client.get(address).content.decode()
    assert "plays sharp" in page
    assert "<form" not in page.split("<main")[1]
    assert as_member(other_student).get(address).status_code == 404
    client.post(address, {"tie_length": "3"})
    assert Offset.objects.of(student) == {"tie_length": 1.0}


def test_stranger_sees_no_offsets(stranger, student, as_member, address):
    client = as_member(stranger)
    assert client.get(address).status_code == 404
    assert client.post(stranger.to("reeds:offsets", student.pk), {"tie_length": "1"}).status_code == 404
    assert not Offset.objects.exists()


def test_offsets_refuse_a_wrong_method(teacher, as_member, address):
    assert as_member(teacher).delete(address).status_code == 405


def test_offset_that_the_sheet_no_longer_bears_leaves_the_sheet_as_it_is(teacher, student, address):
    """A sheet changed later must not make the reed's page fail."""
    reed = make.ReedFactory(owner=student)
    narrow = [row for row in STARTERS["short"].limits if row.quantity == "tip_length"]
    reed.version.data = Sheet(STARTERS["short"].style, tuple(narrow)).to_json()
    reed.version.save()
    Offset.objects.create(studio=student.studio, student=student, quantity="tip_length", delta=-4.0)
    assert sheet_of(reed) == reed.version.sheet


def test_offset_that_would_move_a_sheet_out_of_reach_is_refused(teacher, student, as_member, address):
    given = {"tip_length": "-2.5", "why": "so it is"}
    answer = as_member(teacher).post(address, given)
    assert answer.status_code == 422
    assert "cannot be moved so far" in answer.content.decode()
    assert "so it is" in answer.content.decode()
    assert not Offset.objects.exists()


def test_page_asks_as_often_for_many_sheets_as_for_two(
    teacher, as_member, address, django_assert_max_num_queries
):
    client = as_member(teacher)
    with django_assert_max_num_queries(12) as few:
        client.get(address)
    for _n in range(8):
        make.VersionFactory(pattern__studio=teacher.studio)
    with django_assert_max_num_queries(len(few)):
        assert client.get(address).status_code == 200
