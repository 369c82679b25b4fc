"""A studio's own quantity or thing seen: added on a page, taken everywhere, changed and retired with care."""

from __future__ import annotations

import pytest
from django.db import IntegrityError, transaction
from hypothesis import given
from hypothesis import strategies as st

from reeds.numbers.quantity import UNITS
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import Stage
from reeds.reed.models.measurement import Measurement
from reeds.sheet.actions.own import _choices
from reeds.sheet.forms.own import OwnNumberForm, OwnSeenForm
from reeds.sheet.models.own import OwnQuantity
from studio.models import Studio
from tests import factories as make
from tests.reeds.form import fields_of
from tests.reeds.sheet.own import add, change

# --- added ---


def test_a_teacher_adds_a_number_and_is_told_where_it_is_asked(desk, teacher):
    answer = add(desk, teacher)
    assert answer.status_code == 302
    page = desk.get(answer.url).text
    assert "It is asked once it stands on a measuring sheet." in page
    assert "0 to 90, by eye or ear" in page
    row = OwnQuantity.objects.get()
    assert (row.key, row.unit, row.low, row.high, row.u) == ("own_angle_of_the_corners", "°", 0.0, 90.0, 2.5)
    assert (row.made_by, row.studio) == (teacher, teacher.studio)


def test_a_teacher_adds_a_thing_seen(desk, teacher):
    assert add(desk, teacher, "seen").status_code == 302
    row = OwnQuantity.objects.get()
    assert row.choices == [["choice_1", "tight"], ["choice_2", "loose"]]
    assert row.described.at_bench


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"unit": "furlong"}, "“furlong” is no unit that numbers are kept in here"),
        ({"low": "90", "high": "90"}, "The most must be more than the least."),
        ({"low": "ninety"}, "is not a number"),
        ({"high": ""}, "This field is required."),
        ({"high": "9" * 30}, "cannot be right"),
        ({"u": ""}, "Say how far off one reading may be."),
        ({"u": "0"}, "is more than zero"),
        ({"name": "Tip  Length"}, "“Tip Length” is there already: put it on a measuring sheet."),
        ({"name": "end of the THREAD"}, "is there already"),
        ({"name": ""}, "This field is required."),
        ({"stage": "played_out"}, "not one of the available choices"),
    ],
)
def test_what_cannot_be_is_refused_and_the_rest_stays(desk, teacher, changed, sentence):
    answer = add(desk, teacher, **changed)
    assert answer.status_code == 422
    assert sentence in answer.text.replace("&quot;", '"')
    assert "Between edge and side, seen from above." in answer.text
    assert not OwnQuantity.objects.exists()


@pytest.mark.parametrize(
    ("labels", "sentence"),
    [
        ("only one", "Give two to six choices"),
        ("\n".join("abcdefg"), "Give two to six choices"),
        ("tight\nTight", "Two of the choices are the same."),
        ("a" * 41 + "\nb", "A choice has at most 40 letters"),
        ("   \n  ", "This field is required."),
    ],
)
def test_choices_that_cannot_be_tapped_are_refused(desk, teacher, labels, sentence):
    answer = add(desk, teacher, "seen", labels=labels)
    assert answer.status_code == 422
    assert sentence in answer.text


def test_a_name_that_the_studio_has_is_refused_and_a_retired_one_is_pointed_at(desk, teacher, angle):
    again = add(desk, teacher, name="Angle of the Corners")
    assert (again.status_code, "The studio has “angle of the corners” already." in again.text) == (422, True)
    desk.post(teacher.to("reeds:own_retire", angle.pk))
    again = add(desk, teacher, name="ANGLE of the corners")
    assert "was retired: take it up again" in again.text


def test_two_names_that_make_the_same_word_get_two(desk, teacher):
    for name in ("cork!", "cork?", "角度", "長さ"):
        add(desk, teacher, name=name)
    keys = list(OwnQuantity.objects.values_list("key", flat=True))
    assert keys == ["own_cork", "own_cork_2", "own_item", "own_item_2"]


def test_forty_are_enough(desk, teacher):
    for n in range(40):
        OwnQuantity.objects.create(
            studio=teacher.studio, key=f"own_{n}", name=f"n {n}", stage="tied", low=0, high=1, method="ruler"
        )
    assert "There are 40 already" in add(desk, teacher).text


@given(
    st.sampled_from(list(UNITS)),
    st.floats(-1e5, 1e5, allow_nan=False),
    st.floats(-1e5, 1e5, allow_nan=False),
    st.sampled_from(["eye", "ruler", "caliper", "dial"]),
    st.none() | st.floats(1e-6, 1e5),
    st.sampled_from([stage for stage in Stage if stage.order <= Stage.PLAYING.order]),
)
def test_whatever_the_form_takes_is_an_entry_of_the_registry(unit, low, high, method, u, stage):
    typed = {"name": "x", "stage": stage.value, "unit": unit, "method": method}
    typed |= {"low": f"{low:.6f}", "high": f"{high:.6f}", "u": "" if u is None else f"{u:.6f}"}
    form = OwnNumberForm(typed)
    if not form.is_valid():
        return
    told = form.described()
    fields = {name: getattr(told, name) for name in ("name", "stage", "unit", "low", "high", "method", "u")}
    quantity = OwnQuantity(key="own_x", **fields).described
    assert quantity.low < quantity.high
    assert quantity.default_u(quantity.hand_method)
    assert quantity.is_typed


@given(st.lists(st.text(max_size=50), max_size=9))
def test_whatever_lines_the_form_takes_can_each_be_chosen(lines):
    form = OwnSeenForm({"name": "x", "stage": "tied", "labels": "\n".join(lines)})
    if form.is_valid():
        words = [word for word, _label in _choices(form.described().labels, [])]
        assert len(set(words)) == len(words) >= 2
        assert all(len(word) <= 20 for word in words)


# --- who ---


def test_students_and_other_studios_add_and_change_nothing(
    angle, teacher, student, stranger, as_member, desk
):
    other = as_member(student)
    for address in (
        teacher.to("reeds:own"),
        teacher.to("reeds:own_number"),
        teacher.to("reeds:own_change", angle.pk),
    ):
        assert other.get(address).status_code in (403, 404)
    assert other.post(teacher.to("reeds:own_retire", angle.pk)).status_code in (403, 404)
    away = as_member(stranger)
    assert away.get(stranger.to("reeds:own_change", angle.pk)).status_code == 404
    assert away.post(stranger.to("reeds:own_retire", angle.pk)).status_code == 404
    assert "angle of the corners" not in away.get(stranger.to("reeds:own")).text
    angle.refresh_from_db()
    assert angle.retired_at is None


def test_another_studio_never_meets_it(angle, stranger, as_member):
    version = make.VersionFactory(pattern__studio=stranger.studio)
    theirs = make.ReedFactory(owner=stranger, stage="finishing", version=version)
    client = as_member(stranger)
    assert "angle of the corners" not in client.get(stranger.to("reeds:numbers", theirs.pk)).text
    assert (
        "angle of the corners" not in client.get(stranger.to("reeds:pattern_edit", version.pattern.pk)).text
    )
    client.post(stranger.to("reeds:numbers", theirs.pk), {"also": angle.key, angle.key: "30"})
    assert not Measurement.objects.exists()
    fields = fields_of(client.get(stranger.to("reeds:pattern_edit", version.pattern.pk)))
    grown = client.post(
        stranger.to("reeds:pattern_edit", version.pattern.pk), fields | {"add": "1", "another": angle.key}
    )
    assert angle.key not in fields_of(grown).values()


# --- changed, retired ---


def test_before_anything_is_noted_all_of_it_may_change(desk, teacher, angle):
    assert change(desk, teacher, angle, unit="mm", u="", low="1", high="3", stage="tied").status_code == 302
    angle.refresh_from_db()
    assert (angle.unit, angle.stage, angle.low, angle.high, angle.u) == ("mm", "tied", 1.0, 3.0, None)


def test_in_use_it_may_be_called_otherwise_and_its_numbers_go_along(
    reed, angle, student, as_member, desk, teacher
):
    as_member(student).post(student.to("reeds:numbers", reed.pk), {angle.key: "31"})
    assert change(desk, teacher, angle, name="corner angle", low="-5").status_code == 302
    angle.refresh_from_db()
    assert (angle.name, angle.key) == ("corner angle", "own_angle_of_the_corners")
    assert "Corner angle" in desk.get(teacher.to("reeds:reed", reed.pk)).text


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"unit": "g"}, "unit and stage stay. Retire it, and add another."),
        ({"stage": "tied"}, "unit and stage stay"),
        ({"low": "10"}, "its bounds can be made wider, not narrower"),
        ({"high": "45"}, "its bounds can be made wider, not narrower"),
        ({"name": "gouge"}, "“gouge” is there already"),
    ],
)
def test_in_use_its_meaning_stays(reed, angle, desk, teacher, changed, sentence):
    answer = change(desk, teacher, angle, **changed)
    assert answer.status_code == 422
    assert sentence in answer.text
    assert reed.version.sheet.limit_for(angle.key).high == 40.0


def test_choices_in_use_stay_and_further_ones_come_behind(desk, teacher, student, as_member):
    add(desk, teacher, "seen")
    own = OwnQuantity.objects.get()
    reed = make.ReedFactory(owner=student, stage="tied")
    as_member(student).post(student.to("reeds:numbers", reed.pk), {own.key: "choice_1"})
    refused = change(desk, teacher, own, labels="loose\ntight")
    assert "its choices stay as they are" in refused.text
    assert change(desk, teacher, own, labels="tight\nloose\nnone").status_code == 302
    own.refresh_from_db()
    assert own.choices == [["choice_1", "tight"], ["choice_2", "loose"], ["choice_3", "none"]]


def test_retired_it_is_asked_no_more_and_what_was_noted_stays(reed, angle, student, as_member, desk, teacher):
    phone = as_member(student)
    phone.post(student.to("reeds:numbers", reed.pk), {angle.key: "31"})
    told = desk.post(teacher.to("reeds:own_retire", angle.pk), follow=True).text
    assert "asked no more; what was noted stays" in told
    assert "noted 1 time" in told
    assert angle.key not in phone.get(student.to("lessons:draft", reed.pk)).text
    assert angle.key not in phone.get(student.to("reeds:numbers", reed.pk)).text
    assert "31 ± 2 °" in phone.get(student.to("reeds:reed", reed.pk)).text
    assert desk.get(teacher.to("reeds:pattern", reed.version.pattern.pk)).status_code == 200
    assert "is asked again" in desk.post(teacher.to("reeds:own_retire", angle.pk), follow=True).text
    assert angle.key in phone.get(student.to("lessons:draft", reed.pk)).text


def test_one_with_numbers_cannot_be_deleted_and_a_studio_that_goes_takes_all_with_it(
    reed, angle, student, as_member, teacher
):
    as_member(student).post(student.to("reeds:numbers", reed.pk), {angle.key: "31"})
    with pytest.raises(IntegrityError), transaction.atomic():
        angle.delete()
    reed.delete()
    Studio.objects.get(pk=teacher.studio_id).delete()
    assert not OwnQuantity.objects.exists()


def test_no_word_of_a_studio_is_one_of_the_registry(angle):
    assert angle.key not in QUANTITIES
