"""What a phone is given to check numbers by: this reed's limits, moved for its player, and nobody else's."""

import pytest

from reeds.numbers.words import Method
from reeds.sheet.models.doubt import OwnDoubt
from reeds.sheet.models.pattern import Offset
from tests import factories as make

pytestmark = pytest.mark.django_db


@pytest.fixture
def reed(student):
    return make.ReedFactory(owner=student, stage="tied")


@pytest.fixture
def told(as_member, student, reed):
    return lambda: as_member(student).get(student.to("lessons:limits", reed.pk)).json()


def test_the_limits_of_this_reed_are_told_with_doubts_and_sentences(told):
    row = told()["quantities"]["tie_length"]
    assert row["limit"] == [71.0, 73.0]
    assert row["tools"]["ruler"] == [0.2, "ruler"]
    assert row["usual"] in row["tools"]
    assert told()["enough"] == 0.95
    assert "%(value)s" in told()["sentences"]["below"]


def test_they_move_with_staple_player_and_studio(told, student, reed):
    Offset.objects.create(studio=student.studio, student=student, quantity="tie_length", delta=0.5, why="x")
    OwnDoubt.objects.create(studio=student.studio, method=Method.RULER, u_mm=0.3)
    row = told()["quantities"]["tie_length"]
    assert row["limit"] == [71.5, 73.5]
    assert row["tools"]["ruler"][0] == 0.3
    type(reed).objects.filter(pk=reed.pk).update(staple_length=39.0)
    row = told()["quantities"]["tie_length"]
    assert row["limit"] is None
    assert "no limits for a reed on this staple" in row["remark"]


def test_nobody_else_is_told(as_member, student, reed, other_student, teacher, stranger):
    for member in (other_student, teacher, stranger, make.guardian(student)):
        assert as_member(member).get(member.to("lessons:limits", reed.pk)).status_code == 404
