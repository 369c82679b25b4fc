"""Adding numbers: what the stage asks, another quantity, what is typed wrong."""

from __future__ import annotations

import datetime as dt

import pytest
from django.utils import timezone

from reeds.numbers.quantity import ASKED_AT_ONCE
from reeds.numbers.words import Stage
from reeds.reed import actions
from reeds.reed.models.reed import Reed
from tests import factories as make
from tests.reeds.form import fields_of
from tests.reeds.timeline.test_reed import ZONE, a_reed


@pytest.fixture
def reed(student) -> Reed:
    return a_reed(student)


@pytest.fixture
def address(student, reed) -> str:
    return student.to("reeds:numbers", reed.pk)


def test_page_asks_for_this_stages_numbers_with_the_tool_filled_in_and_no_value(student, as_member, address):
    fields = fields_of(as_member(student).get(address))
    assert fields["tie_length"] == ""
    assert fields["tie_length-method"] == "ruler"
    asked = [name for name in fields if f"{name}-method" in fields]
    assert 0 < len(asked) <= ASKED_AT_ONCE
    assert "tip_length" not in fields


@pytest.mark.parametrize("typed", ["72,5", " 72.5 mm", "72.5"])
def test_point_and_comma_are_the_same(student, as_member, reed, address, typed):
    client = as_member(student)
    given = {"tie_length": typed, "tie_length-method": "caliper", "moisture": "wet"}
    fields = fields_of(client.get(address)) | given
    assert client.post(address, fields).status_code == 302
    row = reed.measurements.get()
    assert (row.value, row.u, row.method, row.moisture, row.by) == (72.5, 0.05, "caliper", "wet", student)
    assert (row.stage, row.quantity) == ("tied", "tie_length")


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("7.25", "Did you mean 72.5"),
        ("2 7/8", "holds several numbers"),
        ('2.9"', "is not in mm"),
        ("0", "is more than zero"),
        ("-72", "is more than zero"),
        ("9000", "cannot be right"),
    ],
)
def test_number_that_cannot_be_right_is_asked_back_and_the_rest_stays(
    student, as_member, reed, address, typed, sentence
):
    given = {"tie_length": typed, "cane_beyond_staple": "27", "moisture": "dry"}
    answer = as_member(student).post(address, given)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert sentence in page
    kept = fields_of(answer)
    assert (kept["cane_beyond_staple"], kept["moisture"]) == ("27", "dry")
    assert not reed.measurements.exists()


def test_nothing_typed_is_said(student, as_member, address):
    answer = as_member(student).post(address, {"moisture": "wet"})
    assert answer.status_code == 422
    assert "at least one number" in answer.content.decode()


def test_another_quantity_is_asked_for_and_what_was_typed_stays(student, as_member, reed, address):
    client = as_member(student)
    fields = fields_of(client.get(address)) | {"tie_length": "72"}
    grown = client.post(address, fields | {"more": "1", "another": "heart_length"})
    assert grown.status_code == 200
    fields = fields_of(grown)
    assert fields["tie_length"] == "72"
    assert client.post(address, fields | {"heart_length": "5"}).status_code == 302
    taken = dict(reed.measurements.values_list("quantity", "value"))
    assert taken == {"tie_length": 72.0, "heart_length": 5.0}


def test_form_sent_twice_counts_once_and_a_second_form_adds(student, as_member, reed, address):
    client = as_member(student)
    fields = fields_of(client.get(address)) | {"tie_length": "72"}
    for _tap in range(2):
        assert client.post(address, fields).status_code == 302
    assert reed.measurements.count() == 1
    client.post(address, fields_of(client.get(address)) | {"tie_length": "72.5"})
    # gone back to the first page and corrected there: that is a newer number too
    client.post(address, fields | {"tie_length": "73"})
    assert [row.value for row in reed.measurements.order_by("pk")] == [72.0, 72.5, 73.0]


def test_what_was_seen_is_kept_as_a_word(student, as_member, reed, address):
    client = as_member(student)
    assert client.post(address, {"airtight": "no"}).status_code == 302
    row = reed.measurements.get()
    assert (row.word, row.value, row.method) == ("no", None, "eye")
    assert client.post(address, {"airtight": "perhaps"}).status_code == 422


def test_opening_typed_by_a_ruler_has_the_rulers_doubt(student, as_member):
    """Its usual way is a photo, which is never typed: the form falls back on a tool."""
    reed = a_reed(student, stage="playing")
    client, address = as_member(student), student.to("reeds:numbers", reed.pk)
    fields = fields_of(client.get(address))
    assert fields["opening_height-method"] == "caliper"
    given = {"opening_height": "0.6", "opening_height-method": "ruler"}
    client.post(address, fields | given)
    assert reed.measurements.get().u == 0.2


def test_teacher_measures_a_students_reed_and_both_numbers_stay(teacher, student, as_member, reed, address):
    as_member(student).post(address, {"tie_length": "72"})
    as_member(teacher).post(address, {"tie_length": "72.5"})
    assert list(reed.measurements.order_by("pk").values_list("by", flat=True)) == [student.pk, teacher.pk]
    page = as_member(student).get(student.to("reeds:reed", reed.pk)).content.decode()
    assert str(teacher) in page


def days_ago(days: int) -> str:
    return (make.today() - dt.timedelta(days=days)).isoformat()


@pytest.fixture
def older(student) -> Reed:
    """A reed made twenty days ago, tied then, bound ten days ago."""
    reed = a_reed(student, days_ago=20)
    actions.move_stage(reed, student, Stage.BOUND, timezone.now() - dt.timedelta(days=10))
    return reed


def test_numbers_of_an_earlier_day_stand_on_it_at_the_stage_of_then(student, as_member, older):
    client, address = as_member(student), student.to("reeds:numbers", older.pk)
    page = client.get(address)
    assert 'type="date" name="day"' in page.content.decode()
    assert fields_of(page)["day"] == ""
    given = {"tie_length": "72", "also": "tie_length", "day": days_ago(15)}
    assert client.post(address, given).status_code == 302
    row = older.measurements.get()
    assert timezone.localdate(row.at, ZONE).isoformat() == days_ago(15)
    assert (row.stage, timezone.localdate(row.entered_at, ZONE).isoformat()) == ("tied", days_ago(0))


@pytest.mark.parametrize("told", [lambda: "", lambda: days_ago(0)], ids=["no day", "today"])
def test_no_day_and_today_are_now(student, as_member, older, told):
    before = timezone.now()
    address = student.to("reeds:numbers", older.pk)
    as_member(student).post(address, {"thread_past_staple": "0", "day": told()})
    row = older.measurements.get()
    assert before <= row.at <= timezone.now()
    assert row.stage == "bound"


def test_the_day_it_was_made_counts_from_when_it_was_made(student, as_member, older):
    address = student.to("reeds:numbers", older.pk)
    as_member(student).post(address, {"thread_past_staple": "0", "day": days_ago(20)})
    assert older.measurements.get().at >= older.made_at


@pytest.mark.parametrize(
    ("days", "sentence"), [(-1, "has not come yet"), (21, "before the reed was made"), (9999, "before")]
)
def test_a_day_to_come_and_one_before_it_was_made_are_said_and_nothing_is_lost(
    student, as_member, older, days, sentence
):
    address = student.to("reeds:numbers", older.pk)
    answer = as_member(student).post(address, {"thread_past_staple": "0.5", "day": days_ago(days)})
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert fields_of(answer)["thread_past_staple"] == "0.5"
    assert fields_of(answer)["day"] == days_ago(days)
    assert not older.measurements.exists()
