"""A studio's own quantity or thing seen is taken like the registry's: sheets, forms, checks, the term."""

from __future__ import annotations

import datetime as dt

from lessons.sending.models import Submission
from reeds.numbers.measured import Measured
from reeds.reed.models.measurement import Measurement
from reeds.sheet.models.own import OwnQuantity
from tests import factories as make
from tests.reeds.form import fields_of
from tests.reeds.sheet.own import add


def test_on_the_sheet_it_has_its_limits_within_its_bounds(desk, teacher, angle):
    version = make.VersionFactory(pattern__studio=teacher.studio)
    address = teacher.to("reeds:pattern_edit", version.pattern.pk)
    assert f'value="{angle.key}" selected' in desk.get(f"{address}?another={angle.key}").text
    grown = desk.post(address, fields_of(desk.get(address)) | {"add": "1", "another": angle.key})
    fields = fields_of(grown) | {"why": "corners matter"}
    prefix = next(name.removesuffix("quantity") for name, value in fields.items() if value == angle.key)
    beyond = desk.post(address, fields | {f"{prefix}low": "20", f"{prefix}high": "120"})
    assert beyond.status_code == 422
    assert "cannot be right" in beyond.text
    kept = desk.post(address, fields | {f"{prefix}low": "20", f"{prefix}aim": "30", f"{prefix}high": "40"})
    assert kept.status_code == 302
    row = version.pattern.current.sheet.limit_for(angle.key)
    assert (row.low, row.aim, row.high) == (20.0, 30.0, 40.0)
    shown = desk.get(teacher.to("reeds:pattern", version.pattern.pk)).text
    assert "Angle of the corners" in shown
    assert "By eye or ear is too coarse" not in shown


def test_a_student_types_it_and_both_read_what_comes_of_it(reed, angle, student, teacher, as_member, desk):
    phone = as_member(student)
    draft = phone.get(student.to("lessons:draft", reed.pk)).text
    assert "angle of the corners (°)" in draft
    assert "Between edge and side, seen from above." in draft
    saved = phone.post(student.to("lessons:save", reed.pk), {angle.key: "55,5°"}).text
    assert "Angle of the corners: 55.5 ° is above the high limit of 40." in saved
    asked_back = phone.post(student.to("lessons:save", reed.pk), {angle.key: "555"}).text
    assert "555 cannot be right for angle of the corners: it lies between 0 and 90." in asked_back
    phone.post(student.to("lessons:go", reed.pk), {angle.key: "55.5 degrees"})
    row = Measurement.objects.get()
    assert (row.value, row.u, row.method, row.own, row.by) == (55.5, 2.5, "eye", angle, student)
    sent = Submission.objects.get(reed=reed)
    for client, who, name, pk in (
        (phone, student, "lessons:round", sent.pk),
        (desk, teacher, "lessons:review", sent.pk),
        (desk, teacher, "reeds:reed", reed.pk),
        (phone, student, "reeds:reed", reed.pk),
    ):
        page = client.get(who.to(name, pk)).text
        assert "56 ± 2 °" in page
        assert "ngle of the corners" in page


def test_not_noted_it_is_missing_and_may_be_noted_on_the_reeds_page(reed, angle, student, as_member):
    phone = as_member(student)
    page = phone.get(student.to("reeds:reed", reed.pk)).text
    assert "angle of the corners" in page[page.index("To be noted at this stage:") :]
    assert phone.post(student.to("reeds:numbers", reed.pk), {angle.key: "31"}).status_code == 302
    assert Measurement.objects.get().measured == Measured(31.0, 2.5)


def test_a_thing_seen_is_tapped_at_its_stage_told_and_counted(desk, teacher, student, as_member):
    add(desk, teacher, "seen")
    key = OwnQuantity.objects.get().key
    reed = make.ReedFactory(owner=student, stage="tied")
    phone = as_member(student)
    assert "the cork sits" in phone.get(student.to("lessons:draft", reed.pk)).text
    phone.post(student.to("lessons:go", reed.pk), {key: "choice_2"})
    assert Measurement.objects.get().word == "choice_2"
    rest = desk.get(teacher.to("lessons:rest", Submission.objects.get().pk)).text
    assert "<dt>the cork sits</dt><dd>loose</dd>" in rest
    today = make.today()
    make.TermFactory(
        studio=teacher.studio, starts_on=today - dt.timedelta(days=9), ends_on=today + dt.timedelta(days=1)
    )
    term = desk.get(teacher.to("lessons:term_reckoned")).text
    bench = term[term.index("the cork sits") :]
    assert "loose" in bench
    assert "1 of 1: 100 %" in bench


def test_the_term_draws_it_with_its_limits_and_names_its_findings(
    reed, angle, student, teacher, as_member, desk
):
    as_member(student).post(student.to("lessons:go", reed.pk), {angle.key: "55"})
    today = make.today()
    make.TermFactory(
        studio=teacher.studio, starts_on=today - dt.timedelta(days=9), ends_on=today + dt.timedelta(days=1)
    )
    studio = desk.get(teacher.to("lessons:term")).text
    picture = studio[studio.index('id="drawn"') :]
    assert "Angle of the corners" in picture
    assert f"{student} over the term: 1 number, 0 of 1 inside the limits" in picture
    assert "0 of 1 inside the limits, taken as read." in picture
    own = as_member(student).get(student.to("lessons:term_pictures")).text
    once = own[own.index("What was measured") :]
    assert "Angle of the corners" in once
    assert "limits 20 to 40" in once
    for member in (student, teacher):
        tables = as_member(member).get(member.to("lessons:term_reckoned")).text
        assert "angle of the corners: above" in tables


def test_a_length_has_the_doubt_of_the_studios_own_tool(desk, teacher, student, as_member):
    add(desk, teacher, name="cork", unit="mm", low="10", high="40", method="ruler", u="")
    own = OwnQuantity.objects.get()
    assert own.described.tools({}) == {"ruler": 0.2, "caliper": 0.05, "eye": 0.5}
    reed = make.ReedFactory(owner=student)
    given = {"also": own.key, own.key: "24", f"{own.key}-method": "caliper"}
    as_member(student).post(student.to("reeds:numbers", reed.pk), given)
    assert Measurement.objects.get().u == 0.05


def test_many_readings_of_it_cost_no_more_queries(
    reed, angle, student, as_member, django_assert_max_num_queries
):
    phone = as_member(student)

    def note(times):
        for n in range(times):
            phone.post(student.to("reeds:numbers", reed.pk), {angle.key: str(20 + n)})

    note(1)
    with django_assert_max_num_queries(60) as few:
        phone.get(student.to("reeds:reed", reed.pk))
    asked = len(few)
    note(5)
    with django_assert_max_num_queries(asked):
        phone.get(student.to("reeds:reed", reed.pk))
