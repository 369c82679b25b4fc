"""A list becomes reeds and numbers: what is made of its rows, and which are refused."""

import datetime as dt

import pytest
from django.utils import timezone, translation

from lessons.log.actions import write
from lessons.log.actions.write import Agreed
from lessons.log.pages import LogPage
from lessons.sending.models import Submission
from reeds.numbers.words import Effort, Method, Speaks, Stage
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.reed import Reed, ReedEvent
from reeds.reed.resting import rested_before_scraping
from reeds.sheet.actions.doubts import set_doubts
from reeds.sheet.actions.own import Described, add_own
from reeds.wording import choices_of
from tests import factories as make
from tests.lessons.log.lists import ALL, DAY, GERMAN_STYLE, brought, choose, found, upload, workbook, wrong

pytestmark = pytest.mark.django_db


def test_a_students_list_becomes_reeds_with_their_numbers(student, version):
    log = brought(student, GERMAN_STYLE)
    made = {"reeds": 3, "added_to": 0, "numbers": 9, "tests": 2, "notes": 1, "lots": 2, "left_out": 0}
    assert log.made == made
    first, second, third = Reed.objects.order_by("number")
    assert (first.number, first.owner, first.version) == (1, student, version)
    assert (first.shape, first.staple, first.staple_length) == ("narrow", "brass", 46.0)
    assert str(first.cane) == "Bag A"
    assert first.cane == second.cane != third.cane
    assert [one.stage for one in (first, second, third)] == ["playing", "given_up", "tied"]
    noon = dt.datetime(2026, 3, 4, 12, tzinfo=student.studio.zone)
    assert first.made_at == noon
    tie = first.measurements.get(quantity="tie_length")
    assert (tie.value, tie.u, tie.method, tie.stage, tie.at) == (
        72.5,
        Method.RULER.u_mm,
        "ruler",
        "tied",
        noon,
    )
    assert (tie.by, tie.log, tie.moisture) == (student, log.key, "unknown")
    assert first.measurements.get(quantity="airtight").word == "yes"
    rating = first.playing_tests.get().ratings.get()
    assert (rating.item, rating.speaks, rating.effort) == ("low_notes", 5, None)
    assert second.events.get(kind="given_up").why == "leaks"
    assert first.events.get(kind="note").why == "good one"


def test_columns_go_by_their_names_in_each_language(student):
    with translation.override("de"):
        names = [translation.gettext(one) for one in ("number of the reed", "day it was made", "tie length")]
    assert names[2] == "Aufbindelänge"
    row = "1;4.3.2026;7,25"
    for shown in ("en", "de"):
        with translation.override(shown):
            log = upload(student, f"{names[0]};{names[1]};{names[2]} (cm)\n{row}\n")
        assert log.chosen.columns == {0: "reed", 1: "made_on", 2: "tie_length"}


def test_words_in_cells_are_known_in_each_language(student):
    asked = ("bound", "yes", "hard", "speaks at once")
    with translation.override("de"):
        stage, yes, feels, speaks = map(translation.gettext, asked)
        blows = str(dict(choices_of(Effort))[Effort.HARD])
    assert feels != blows
    head = "reed;date;stage;wet cane;airtight;low notes;effort"
    cells = [("1", "4.3.2026", *cells) for cells in [(stage, feels, yes, speaks, blows)]]
    cells += [("2", "4.3.2026", *asked[:1], "hard", "J", "speaks at once", "hard")]
    brought(student, "\n".join([head, *map(";".join, cells)]), Agreed())
    for reed in Reed.objects.all():
        test = reed.playing_tests.get()
        told = (reed.stage, reed.flexibility, reed.measurements.get().word, test.effort)
        assert told == ("bound", "hard", "yes", Effort.HARD)
        assert test.ratings.get().speaks == Speaks.AT_ONCE
    with translation.override("de"):
        (said,) = wrong(upload(student, f"{head}\n3;4.3.2026;{stage};{feels};vielleicht;5;4\n"))
        assert f": {yes}, {translation.gettext('no')}." in said


def test_a_workbook_becomes_reeds_too(student):
    rows = [["Reed", "Made on", "Tie length (mm)", "Airtight"], [7, dt.date(2026, 3, 4), 72.5, True]]
    log = brought(student, workbook(("Cover", []), ("Reeds", rows)), Agreed())
    reed = Reed.objects.get()
    assert (reed.number, timezone.localdate(reed.made_at)) == (7, dt.date(2026, 3, 4))
    assert {(row.value, row.word) for row in reed.measurements.all()} == {(72.5, ""), (None, "yes")}
    assert log.made["reeds"] == 1


def test_what_is_looked_over_is_what_is_made(student):
    log = upload(student, GERMAN_STYLE)
    looked = found(log)
    assert not Reed.objects.exists()
    made = write.bring_in(log, ALL).made
    assert {name: getattr(looked, name) for name in made if name != "left_out"} == {
        name: n for name, n in made.items() if name != "left_out"
    }
    assert made["numbers"] == Measurement.objects.count()


def test_no_round_and_no_mail_comes_of_it(student, mailoutbox):
    brought(student, GERMAN_STYLE)
    assert not Submission.objects.exists()
    assert mailoutbox == []


def test_they_count_in_the_term_they_fall_in(as_member, student):
    make.TermFactory(studio=student.studio, starts_on=dt.date(2026, 3, 1), ends_on=dt.date(2026, 3, 5))
    brought(student, GERMAN_STYLE)
    page = as_member(student).get(student.to("lessons:term")).content.decode()
    assert "Two reeds made: " in page


def test_a_teachers_list_names_whose_it_is_and_not_who_measured(teacher, student, other_student):
    text = (
        f"student,reed,made on,tie length\n{student},1,{DAY},72\n{other_student.person.username},1,{DAY},71\n"
    )
    brought(teacher, text, student=None)
    assert {reed.owner for reed in Reed.objects.all()} == {student, other_student}
    assert {row.by for row in Measurement.objects.all()} == {None}
    assert {event.by for event in ReedEvent.objects.all()} == {teacher}


def test_nobody_else_is_named_by_a_students_own_list(student, other_student, stranger):
    text = f"student,reed,made on\n{other_student},1,{DAY}\n{student},2,{DAY}\n{stranger},3,{DAY}\n"
    log = upload(student, text)
    assert wrong(log) == [
        f"Row 2, “student”: “{other_student}” is somebody else: the reeds of this list are one person's.",
        f"Row 4, “student”: “{stranger}” is nobody of this studio.",
    ]
    write.bring_in(log, ALL)
    assert [reed.owner for reed in Reed.objects.all()] == [student]


def test_two_of_one_name_are_told_apart_by_user_name(teacher, student, version):
    twin = make.student(studio=teacher.studio, person__name=student.person.name)
    text = f"student,reed,made on\n{student},1,{DAY}\n{twin.person.username},2,{DAY}\n"
    log = upload(teacher, text, student=None)
    assert "Several people are called" in wrong(log)[0]
    write.bring_in(log, ALL)
    assert Reed.objects.get().owner == twin


def test_several_rows_are_one_reed_with_numbers_of_several_days(student):
    text = (
        "reed,made on,measured on,tie length,overall length,cane\n"
        "7,2026-03-01,2026-03-02,72,,A\n7,,2026-03-10,,71,\n7,,2026-03-12,,70.5,A\n"
    )
    brought(student, text)
    reed = Reed.objects.get()
    days = [(row.quantity, row.at.date().day) for row in reed.measurements.order_by("at")]
    assert days == [("tie_length", 2), ("overall_length", 10), ("overall_length", 12)]
    assert reed.stage_since.date().day == 12


def test_a_row_that_says_otherwise_of_its_reed_is_refused(student):
    text = f"reed,made on,cane,sheet\n7,{DAY},A,\n7,,B,\n7,2026-03-05,,\n7,,,nowhere\n7,,,short scrape\n"
    log = upload(student, text)
    assert wrong(log) == [
        "Row 3, “cane”: It says otherwise than row 2 of the same reed.",
        "Row 4, “made on”: It says otherwise than row 2 of the same reed.",
        "Row 5, “sheet”: “nowhere” is no measuring sheet of this studio.",
    ]


def test_days_of_steps_make_its_life_and_its_rest(student):
    head = "reed,made on,tied on,scraped on,playing on,given up on,stage\n"
    text = f"{head}1,1.3.2026,2.3.2026,16.3.2026,20.3.2026,1.4.2026,\n"
    brought(student, text)
    reed = Reed.objects.get()
    events = [(event.kind, event.to_stage, event.at.date().day) for event in reed.events.all()]
    assert events == [
        ("made", "cane", 1),
        ("stage", "tied", 2),
        ("stage", "scraped", 16),
        ("stage", "playing", 20),
        ("given_up", "given_up", 1),
    ]
    assert rested_before_scraping(reed.events.all()) == dt.timedelta(days=14, hours=0)
    assert (reed.stage, reed.events.last().why) == ("given_up", "The list does not say why.")


def test_a_rest_whose_end_is_not_told_is_not_made_up(student):
    text = "reed,made on,tied on,measured on,stage,overall length\n1,1.3.2026,2.3.2026,20.3.2026,playing,71\n"
    brought(student, text)
    reed = Reed.objects.get()
    assert rested_before_scraping(reed.events.all()) is None
    assert reed.stage == Stage.PLAYING


def test_steps_that_go_backwards_and_days_to_come_are_refused(student):
    soon = (make.today() + dt.timedelta(days=2)).isoformat()
    text = (
        "reed,made on,tied on,scraped on,measured on\n"
        f"1,1.3.2026,5.3.2026,4.3.2026,\n2,{soon},,,\n3,1.3.2026,,,1.2.2026\n4,,,,\n"
    )
    assert wrong(upload(student, text)) == [
        "Row 2: A later step has an earlier day than the one before it.",
        f"Row 3, “made on”: {soon} has not come yet.",
        "Row 4, “measured on”: 2026-02-01 is before the reed was made, on 2026-03-01.",
        "Row 5, “made on”: It does not say when the reed was made.",
    ]


def test_the_day_where_none_is_told_can_be_chosen(student):
    log = upload(student, "reed,tie length\n1,72\n")
    assert found(log).reeds == 0
    choose(log, made_on=dt.date(2026, 2, 1))
    assert found(log).reeds == 1
    write.bring_in(log, ALL)
    assert timezone.localdate(Reed.objects.get().made_at) == dt.date(2026, 2, 1)


def test_a_dash_alone_is_an_empty_cell(student):
    brought(student, f"reed,made on,tie length,given up,note,crow\n1,{DAY},-,–,—,-\n", Agreed())
    reed = Reed.objects.get()
    assert (reed.stage, reed.measurements.count(), reed.events.count()) == ("cane", 0, 1)


def test_of_very_many_wrong_rows_all_are_counted_and_the_first_are_told(student):
    log = upload(student, "reed,made on\n" + "x,y\n" * 500 + f"1,{DAY}\n")
    assert (found(log).wrong_rows, len(found(log).wrong)) == (500, 300)
    assert write.bring_in(log, ALL).made["left_out"] == 500


def test_without_numbers_on_the_corks_the_next_free_ones_are_given(student):
    make.ReedFactory(owner=student, number=41)
    brought(student, f"made on,tie length\n{DAY},72\n{DAY},71\n")
    assert sorted(Reed.objects.values_list("number", flat=True)) == [41, 42, 43]


# --- how it was measured ---


def test_the_method_that_is_told_holds_and_elsewhere_the_usual_one(student, teacher):
    set_doubts(teacher, {Method.CALIPER: 0.1})
    head = "reed,made on,method,wet,tie length,gouge\n"
    text = f"{head}1,{DAY},caliper,wet,72,0.58\n2,{DAY},,,72,\n3,{DAY},ruler,dry,,0.58\n"
    log = brought(student, text)
    rows = {(row.reed.number, row.quantity): row for row in Measurement.objects.all()}
    assert {place: (row.method, row.u, row.moisture) for place, row in rows.items()} == {
        (1, "tie_length"): ("caliper", 0.1, "wet"),
        (1, "gouge"): ("caliper", 0.1, "wet"),
        (2, "tie_length"): ("ruler", 0.2, "unknown"),
        (3, "gouge"): ("dial", 0.01, "dry"),
    }
    assert found(log).usual == 2
    assert "Of 2 numbers the list does not say how they were measured" in " ".join(LogPage(log).remarks)


def test_one_number_a_row_with_its_own_doubt(student):
    text = (
        "reed,made_on,measured_on,quantity,value,u,unit,method\n"
        f"1,{DAY},{DAY},tie_length,72.5,0.15,mm,photo\n"
        f"1,,2026-03-05,overall length,7.1,,cm,\n"
        f"1,,2026-03-05,opening_area,4.5,0.2,mm²,photo\n"
        f"1,,2026-03-05,airtight,yes,,,\n"
        f"1,,2026-03-05,opening_area,4.5,,,\n"
        f"1,,2026-03-05,taste,4.5,,,\n"
        f"1,,2026-03-05,tie_length,,,,\n"
        f"1,,2026-03-05,tie_length,72,,g,\n"
    )
    log = brought(student, text)
    rows = {row.quantity: (row.value, row.u, row.word, row.method) for row in Measurement.objects.all()}
    assert rows == {
        "tie_length": (72.5, 0.15, "", "photo"),
        "overall_length": (71.0, 0.2, "", "ruler"),
        "opening_area": (4.5, 0.2, "", "photo"),
        "airtight": (None, None, "yes", "eye"),
    }
    assert [one.split(": ", 1)[0] for one in wrong(log)] == [f"Row {n}, “value”" for n in (6, 7, 8, 9)]


def test_the_studios_own_quantities_are_columns(teacher, student):
    own = add_own(
        teacher,
        Described(name="angle of the corners", stage=Stage.FINISHING, unit="°", low=0.0, high=90.0, u=2.0),
    )
    brought(student, f"reed,made on,Angle of the corners (deg)\n1,{DAY},30\n")
    row = Measurement.objects.get()
    assert (row.quantity, row.own, row.value, row.u) == (own.key, own, 30.0, 2.0)


def test_another_studios_own_quantity_is_no_column(stranger, student):
    add_own(stranger, Described(name="angle", stage=Stage.FINISHING, unit="°", low=0.0, high=90.0, u=2.0))
    assert LogPage(upload(student, f"reed,made on,angle\n1,{DAY},30\n")).unknown == ["angle"]
