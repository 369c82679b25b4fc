"""Numbers measured on a round's photos and takes: with it if they were there, else shown as come later."""

import datetime as dt
import re
import uuid

import pytest
from django.utils import timezone

from lessons.sending.models import Submission
from lessons.sending.pages import Later
from reeds.checks.findings import Finding
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import Method
from reeds.reed import actions as bench
from reeds.reed.models.measurement import Measurement
from tests import factories as make

LATER = "Came later"


@pytest.fixture
def reed(student):
    return make.ReedFactory(owner=student, stage="tied")


@pytest.fixture
def draft(reed):
    row = make.SubmissionFactory(reed=reed)
    row.photos.add(make.ready_photo(reed))
    return row


def on_photo(row, quantity="tie_length", value=75.0, by=None):
    entry = bench.Entry(QUANTITIES[quantity], Method.PHOTO, value=value, u=0.1, photo=row.photos.first())
    return bench.record(row.reed, by or row.student, [entry])[0]


def sent(client, row, **typed):
    client.post(row.student.to("lessons:go", row.reed.pk), {"question": "?", **typed})
    row.refresh_from_db()
    assert row.sent_at
    return row


def text(client, member, name, pk):
    page = client.get(member.to(name, pk))
    assert page.status_code == 200
    return page.content.decode()


def test_what_a_student_measures_on_a_photo_is_said_before_it_is_sent(as_member, student, draft):
    on_photo(draft)
    page = text(as_member(student), student, "lessons:draft", draft.reed.pk)
    assert "Measured already for this round" in page
    assert "75.0 ± 0.1 mm" in page
    [said] = re.findall(r'<p class="said said-fault" id="said-tie_length"\s*>([^<]*)</p>', page)
    assert said == "above: the sheet has 71 to 73 mm"


def test_it_goes_with_the_round_beside_what_is_typed(as_member, student, teacher, draft):
    measured = on_photo(draft)
    row = sent(as_member(student), draft, tie_length="74,5")
    assert set(row.measurements.values_list("value", flat=True)) == {75.0, 74.5}
    assert measured in row.measurements.all()
    for client, who, name in (
        (as_member(student), student, "lessons:round"),
        (as_member(teacher), teacher, "lessons:rest"),
    ):
        page = text(client, who, name, row.pk)
        assert "75.0 ± 0.1" in page
        assert "74.5 ± 0.2" in page
        assert LATER not in page
    assert LATER not in text(as_member(teacher), teacher, "lessons:review", row.pk)


def test_a_photo_of_another_round_gives_this_one_no_number(as_member, student, draft):
    elsewhere = make.sent_round(student, reed=draft.reed, round=9)
    on_photo(elsewhere, value=71.0)
    row = sent(as_member(student), draft)
    assert not row.measurements.exists()


def test_a_photo_removed_from_the_draft_takes_its_number_along(as_member, student, draft):
    on_photo(draft)
    draft.photos.clear()
    assert not sent(as_member(student), draft).measurements.exists()


def test_what_is_measured_after_sending_is_shown_as_come_later(as_member, student, teacher, draft):
    row = sent(as_member(student), draft, staple_length="45")
    stored = row.findings
    on_photo(row, by=teacher)
    row.refresh_from_db()
    assert row.findings == stored
    assert "tie_length" not in row.measurements.values_list("quantity", flat=True)
    for client, who, name in (
        (as_member(student), student, "lessons:round"),
        (as_member(teacher), teacher, "lessons:review"),
    ):
        later = text(client, who, name, row.pk).split(LATER)[1]
        assert "75.0 ± 0.1 mm" in later
        assert str(teacher) in later
        assert "Tie length" in later.split("</ul>")[0]


def test_the_later_checks_read_the_reed_as_it_was_sent(as_member, student, teacher, draft):
    row = sent(as_member(student), draft)
    Submission.objects.filter(pk=row.pk).update(sent_at=timezone.now() - dt.timedelta(days=3))
    Measurement.objects.create(
        studio=row.studio,
        reed=row.reed,
        quantity="tie_length",
        value=60.0,
        u=0.1,
        method="caliper",
        stage="tied",
    )  # of the reed, not of this round
    on_photo(row, "tip_width", 7.0, by=teacher)
    bench.move_stage(row.reed, student, bench.Stage.PLAYING)
    page = as_member(teacher).get(teacher.to("lessons:review", row.pk))
    later = page.context["later"]
    assert [one.quantity for one in later.numbers] == ["tip_width"]
    assert {one.quantity for one in later.findings} == {"tip_width"}


def test_a_recording_heard_after_sending_reaches_the_review(as_member, student, teacher, draft):
    take = make.ready_take(draft.reed, "low_notes")
    heard, take.state, take.result = take.result, "waiting", {}
    take.save()
    draft.takes.add(take)
    row = sent(as_member(student), draft)
    assert LATER not in text(as_member(teacher), teacher, "lessons:review", row.pk)
    item = {**(heard.get("item") or {}), "asked": 5, "spoke": 3}
    type(take).objects.filter(pk=take.pk).update(state="ready", result={**heard, "item": item})
    page = as_member(teacher).get(teacher.to("lessons:review", row.pk))
    assert LATER in page.content.decode()
    assert "3 of 5 notes spoke" in page.content.decode()
    assert not any("notes spoke" in str(one) for one in row.findings)


def test_a_number_of_a_recording_heard_after_sending_is_one_that_came_later(
    as_member, student, teacher, draft
):
    take = make.ready_take(draft.reed, "tuning")
    draft.takes.add(take)
    row = sent(as_member(student), draft)
    Measurement.objects.create(
        studio=row.studio, reed=row.reed, quantity="a4_cents", value=14.0, u=1.0, method="recording",
        stage="tied", take=take, key=uuid.uuid4(),
    )  # fmt: skip
    later = text(as_member(teacher), teacher, "lessons:review", row.pk).split(LATER)[1]
    assert re.search(r"14(\.0)? ± 1(\.0)? cents", later)


def test_what_a_recording_said_before_sending_is_not_said_again_as_later(as_member, student, teacher, draft):
    take = make.ready_take(draft.reed, "low_notes")
    item = {**(take.result.get("item") or {}), "asked": 5, "spoke": 3}
    type(take).objects.filter(pk=take.pk).update(result={**take.result, "item": item}, at=timezone.now())
    draft.takes.add(take)
    row = sent(as_member(student), draft)
    assert any("notes spoke" in one["message"] for one in row.findings)
    assert LATER not in text(as_member(teacher), teacher, "lessons:review", row.pk)


def shown(page, key):
    """The number in a field and how it was measured, as the page shows them."""
    [value] = re.findall(rf'name="{key}" value="([^"]*)"', page)
    [ways] = re.findall(rf'<select name="{key}-method".*?</select>', page, re.DOTALL)
    return value, re.findall(r'value="(\w+)" selected', ways)


def test_what_a_photo_told_fills_its_field_and_is_no_second_number(as_member, student, draft):
    on_photo(draft, value=72.04)
    client = as_member(student)
    assert shown(text(client, student, "lessons:draft", draft.reed.pk), "tie_length") == ("72.0", ["photo"])
    row = sent(client, draft, **{"tie_length": "72.0", "tie_length-method": "photo"})
    assert list(row.measurements.values_list("value", "method")) == [(72.04, "photo")]


def test_what_is_typed_over_it_is_measured_by_hand_and_a_contradiction_is_said(as_member, student, draft):
    on_photo(draft, value=72.0)
    client, data = as_member(student), {"tie_length": "71", "tie_length-method": "photo"}
    said = client.post(student.to("lessons:save", draft.reed.pk), data, HTTP_HX_REQUEST="true").text
    [under] = re.findall(r'id="said-tie_length"[^>]*>([^<]*)<', said)
    assert "71 mm (ruler) and 72 mm (photo) cannot both be right" in under
    page = text(client, student, "lessons:draft", draft.reed.pk)
    assert shown(page, "tie_length")[0] == "71"
    row = sent(client, draft, **data)
    assert set(row.measurements.values_list("value", "method")) == {(71.0, "ruler"), (72.0, "photo")}


def test_two_that_agree_within_their_doubts_say_nothing(as_member, student, draft):
    on_photo(draft, value=72.0)
    data = {"tie_length": "72.3", "tie_length-method": "ruler"}
    said = (
        as_member(student).post(student.to("lessons:save", draft.reed.pk), data, HTTP_HX_REQUEST="true").text
    )
    assert "cannot both be right" not in said


def test_what_was_heard_before_a_round_was_sent_is_not_checked_again(student, monkeypatch):
    row, hour = make.sent_round(student, takes=1), dt.timedelta(hours=1)
    told = Finding.from_json(make.finding("above", check="recorded", message="Too slow."))
    monkeypatch.setattr(Later, "checked", [told])
    for heard_at, is_later in ((None, True), (row.sent_at + hour, True), (row.sent_at - hour, False)):
        row.takes.update(heard_at=heard_at)
        assert bool(Later(row).findings) is is_later
