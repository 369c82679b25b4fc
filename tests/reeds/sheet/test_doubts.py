"""The studio's own standard uncertainties: set by a teacher, carried by what is kept from then on."""

import pytest

from reeds.numbers.words import Method
from reeds.photo.actions import card as cards
from reeds.reed.findings import findings_of
from reeds.sheet.actions.doubts import set_doubts
from reeds.sheet.models.doubt import OwnDoubt
from tests import factories as make


@pytest.fixture
def reed(student):
    return make.ReedFactory(owner=student, stage="tied")


def put(client, teacher, **given):
    return client.post(teacher.to("reeds:doubts"), given)


def typed(client, reed, value="72", method="ruler"):
    answer = client.post(
        reed.owner.to("reeds:numbers", reed.pk), {"tie_length": value, "tie_length-method": method}
    )
    assert answer.status_code == 302
    return reed.measurements.order_by("-pk").first()


def test_numbers_kept_from_then_on_carry_the_studios_own_doubt_and_those_before_keep_theirs(
    as_member, teacher, student, reed
):
    before = typed(as_member(student), reed)
    assert put(as_member(teacher), teacher, ruler="0,3", caliper="").status_code == 302
    after = typed(as_member(student), reed, "72.2")
    before.refresh_from_db()
    assert (before.u, after.u) == (0.2, 0.3)
    assert typed(as_member(student), reed, method="caliper").u == 0.05
    put(as_member(teacher), teacher, ruler="")
    assert typed(as_member(student), reed, "71.9").u == 0.2


def test_the_page_says_the_usual_one_and_what_range_a_tool_decides(as_member, teacher):
    put(as_member(teacher), teacher, ruler="0.5")
    page = as_member(teacher).get(teacher.to("reeds:doubts")).content.decode()
    assert 'value="0.5"' in page
    assert "Usually 0.2." in page
    assert "a range of 1.96 mm" in page  # 3.92 times 0.5
    assert "a range of 0.2 mm" in page  # a caliper's 0.05


@pytest.mark.parametrize(
    ("way", "given", "sentence"),
    [
        ("ruler", "0.01", "Did you mean"),
        ("ruler", "5", "Did you mean"),
        ("caliper", "0", "more than zero"),
        ("eye", "-1", "more than zero"),
        ("dial", "seven", "not a number"),
        ("ruler", "20000", "lies between"),
    ],
)
def test_a_doubt_that_cannot_be_is_asked_back_and_the_rest_stays(as_member, teacher, way, given, sentence):
    other = "caliper" if way != "caliper" else "ruler"
    answer = put(as_member(teacher), teacher, **{way: given, other: "0.1"})
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert 'value="0.1"' in answer.content.decode()
    assert not OwnDoubt.objects.exists()


def test_another_studio_and_students_are_not_touched_and_may_not_set_it(
    as_member, teacher, student, stranger
):
    assert put(as_member(student), student, ruler="0.4").status_code == 404
    put(as_member(teacher), teacher, ruler="0.4")
    theirs = make.ReedFactory(owner=make.student(studio=stranger.studio), stage="tied")
    assert typed(as_member(theirs.owner), theirs).u == 0.2


def test_what_is_typed_on_the_sending_page_is_checked_and_kept_with_it(as_member, teacher, student, reed):
    set_doubts(teacher, {Method.CALIPER: 0.5})
    given = {"tie_length": "73.4", "tie_length-method": "caliper"}
    page = as_member(student).post(student.to("lessons:save", reed.pk), given).content.decode()
    assert ">above<" not in page  # with the usual 0.05 it would be
    as_member(student).post(student.to("lessons:go", reed.pk), given)
    assert reed.measurements.get().u == 0.5


def test_checks_and_sheet_name_a_tool_that_can_decide_in_this_studio(as_member, teacher, student, reed):
    sheet = teacher.to("reeds:pattern", reed.version.pattern_id)
    typed(as_member(student), reed, "73.0")
    assert {one.quantity: one.params.get("tool_label") for one in findings_of(reed)}[
        "tie_length"
    ] == "caliper"
    assert "Ruler is too coarse here: take photo." not in as_member(teacher).get(sheet).content.decode()
    set_doubts(teacher, {Method.CALIPER: 0.6, Method.RULER: 0.6})
    assert {one.quantity: one.params.get("tool_label") for one in findings_of(reed)}["tie_length"] == "photo"
    assert "Ruler is too coarse here: take photo." in as_member(teacher).get(sheet).content.decode()


def test_a_clip_and_a_cards_bar_carry_it_from_then_on(as_member, teacher, student, reed):
    card = cards.new_card(student)
    cards.note_bar(card, student, 99.5, "ruler")
    set_doubts(teacher, {Method.RULER: 0.4})
    card.refresh_from_db()
    assert card.factor.u == pytest.approx(0.002)
    cards.note_bar(card, student, 99.5, "ruler")
    assert card.factor.u == pytest.approx(0.004)
    given = {"clip-taken": "0.5", "clip-method": "ruler"}
    assert as_member(student).post(student.to("reeds:clip", reed.pk), given).status_code == 302
    assert reed.events.get(kind="clip").clip_u == 0.4
