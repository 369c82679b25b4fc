"""A list becomes reeds and numbers: what is made, what is refused row by row, once, and taken back as one."""

import datetime as dt

import pytest
from django.core.files.storage import default_storage
from django.utils import timezone

from lessons.log.actions import keep, undo, write
from lessons.log.actions.write import Agreed
from lessons.log.choices import LEFT_OUT
from lessons.log.found import Found
from lessons.log.models import ReedLog
from lessons.log.pages import LogPage
from lessons.log.table.days import Order
from lessons.log.table.gathering import Existing
from lessons.sending.models import Submission
from reeds.numbers.words import Method, Stage
from reeds.reed.actions import record
from reeds.reed.facts import rested_before_scraping
from reeds.reed.models.cane import CaneLot
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.playing import PlayingTest
from reeds.reed.models.reed import Reed, ReedEvent
from reeds.sheet.actions.doubts import set_doubts
from reeds.sheet.actions.own import Described, add_own
from reeds.sweep import sweep
from studio.errors import NotPossible
from tests import factories as make
from tests.lessons.log.lists import GERMAN_STYLE, upload

pytestmark = pytest.mark.django_db
NOT_YET = Agreed()
ALL = Agreed(leave_columns=True, leave_rows=True, again=True)
DAY = "2026-03-04"


@pytest.fixture
def version(teacher):
    return make.VersionFactory(pattern__studio=teacher.studio, pattern__name="Short scrape")


@pytest.fixture
def student(teacher, version):
    return make.student(studio=teacher.studio)


def found(log):
    return Found.from_json(log.found)


def wrong(log):
    return [str(one) for one in LogPage(log).wrong]


def choose(log, **changed):
    keep.choose(log, log.chosen.__class__(**{**vars(log.chosen), **changed}))
    log.refresh_from_db()


def brought(by, text, agreed=ALL, **given):
    log = upload(by, text, **given)
    return write.bring_in(log, agreed)


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
    assert "2 reeds made" in page


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
        f"Row 2, “student”: “{other_student}” is nobody of this studio.",
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
    soon = (timezone.localdate() + dt.timedelta(days=2)).isoformat()
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


# --- what must be settled first ---


def asked(log, agreed=NOT_YET):
    return " ".join(write.questions(log, agreed))


def test_columns_that_nobody_knows_are_left_out_only_by_choice(student):
    log = upload(student, f"reed,made on,colour\n1,{DAY},blue\n")
    assert "Some columns are not known" in asked(log)
    with pytest.raises(NotPossible, match="Some columns are not known"):
        write.bring_in(log, Agreed())
    assert not Reed.objects.exists()
    choose(log, columns={**log.chosen.columns, 2: LEFT_OUT})
    assert asked(log) == ""
    assert write.bring_in(log, Agreed()).is_written


def test_rows_in_error_are_left_out_only_by_choice(student):
    log = upload(student, f"reed,made on,tie length\n1,{DAY},72\n2,{DAY},7.2\n")
    with pytest.raises(NotPossible, match="Some rows cannot be used"):
        write.bring_in(log, Agreed())
    log = write.bring_in(log, Agreed(leave_rows=True))
    assert (log.made["reeds"], log.made["left_out"]) == (1, 1)
    assert Reed.objects.get().number == 1


def test_days_that_could_be_two_are_asked_for_the_whole_column(student):
    log = upload(student, "reed,made on\n1,3/4/2026\n2,5/4/2026\n")
    assert found(log).open_orders == [1]
    assert "read two ways" in asked(log, ALL)
    choose(log, orders={1: Order.MONTH_FIRST})
    assert asked(log) == ""
    write.bring_in(log, Agreed())
    assert {timezone.localdate(reed.made_at).month for reed in Reed.objects.all()} == {3, 5}


def test_what_the_column_shows_goes_before_what_was_chosen(student):
    log = upload(student, "reed,made on\n1,3/2/2026\n2,15/2/2026\n")
    choose(log, orders={1: Order.MONTH_FIRST})
    write.bring_in(log, Agreed())
    assert [timezone.localdate(reed.made_at).day for reed in Reed.objects.order_by("number")] == [3, 15]


def test_the_same_file_again_is_said_and_asked(student):
    text = f"made on,tie length\n{DAY},72\n"
    brought(student, text, Agreed())
    log = upload(student, text)
    assert "This very file was brought in before" in asked(log)
    with pytest.raises(NotPossible):
        write.bring_in(log, Agreed(leave_rows=True))
    assert write.bring_in(log, Agreed(again=True)).is_written
    assert Reed.objects.count() == 2


def test_a_file_that_was_taken_back_may_come_again(student):
    log = brought(student, GERMAN_STYLE)
    undo.take_back(log)
    assert asked(upload(student, GERMAN_STYLE)) == ""


def test_nothing_to_bring_in_is_said(student):
    assert "Nothing would come of it" in asked(upload(student, "reed,made on\nx,y\n"), ALL)


# --- reeds that are there ---


@pytest.fixture
def there(student, version):
    made = dt.datetime(2026, 3, 1, 12, tzinfo=student.studio.zone)
    return make.ReedFactory(owner=student, number=5, version=version, made_at=made, stage_since=made)


LATER = f"reed,made on,tie length,note\n5,{DAY},72,x\n6,{DAY},71,\n"


def test_a_number_that_is_there_is_refused_unless_chosen(student, there):
    log = upload(student, LATER)
    assert wrong(log) == [
        "Row 2, “reed”: There is a reed 5 already: "
        "choose whether its numbers are added or a new reed is made."
    ]


def test_its_numbers_are_added_by_choice(student, there):
    log = upload(student, LATER.replace("made on", "measured on"))
    choose(log, existing=Existing.ADD, made_on=dt.date(2026, 3, 1))
    assert (found(log).reeds, found(log).added_to) == (1, 1)
    log = write.bring_in(log, Agreed())
    there.refresh_from_db()
    assert (there.stage, there.log) == ("tied", None)
    assert there.measurements.get().log == log.key
    assert there.events.get().why == "x"
    undo.take_back(log)
    assert list(Reed.objects.all()) == [there]
    assert not Measurement.objects.exists()


def test_a_new_one_is_made_by_choice(student, there):
    log = upload(student, LATER)
    choose(log, existing=Existing.NEW)
    write.bring_in(log, Agreed())
    assert sorted(Reed.objects.values_list("number", flat=True)) == [5, 6, 7]


def test_numbers_before_it_was_made_and_of_one_taken_out_are_refused(student, there):
    log = upload(student, "reed,measured on,tie length\n5,2026-02-01,72\n")
    choose(log, existing=Existing.ADD)
    assert wrong(log) == ["Row 2, “measured on”: 2026-02-01 is before the reed was made, on 2026-03-01."]
    Reed.objects.update(taken_out_at=timezone.now())
    choose(log)
    assert "was taken out" in wrong(log)[0]


def test_another_students_number_is_another_reed(student, other_student, there):
    assert wrong(upload(other_student, LATER)) == []


# --- once, and back ---


def test_brought_in_twice_is_once(student):
    log = upload(student, GERMAN_STYLE)
    same = ReedLog.objects.get(pk=log.pk)
    write.bring_in(log, ALL)
    assert write.bring_in(same, ALL).made == ReedLog.objects.get().made
    assert Reed.objects.count() == 3


def test_an_upload_sent_twice_is_one(student):
    upload_ = keep.Upload("a.csv", GERMAN_STYLE.encode(), student.studio, student, student)
    key = "6f1c2c5e-3b1e-4c1e-9a52-6a1f6c1f0a11"
    assert keep.keep(upload_, key) == keep.keep(upload_, key)
    assert ReedLog.objects.count() == 1


def test_reeds_made_meanwhile_have_it_looked_over_once_more(student, version):
    log = upload(student, GERMAN_STYLE)
    reading = write.Reading(log)
    gathering = write._gathered(reading)
    make.ReedFactory(owner=student, number=2, version=version)
    with pytest.raises(write._Changed):
        write._written(reading, gathering)
    choose(log)
    with pytest.raises(NotPossible, match="Some rows cannot be used"):
        write.bring_in(log, Agreed(leave_columns=True))
    assert Reed.objects.count() == 1


def test_taken_back_as_one_nothing_is_left(student):
    mine = make.CaneFactory(owner=student, label="Bag A")
    log = brought(student, GERMAN_STYLE)
    assert set(CaneLot.objects.values_list("label", flat=True)) == {"Bag A", "Bag B"}
    log = undo.take_back(log)
    assert log.state == "undone"
    for kind in (Reed, ReedEvent, Measurement, PlayingTest):
        assert not kind.objects.exists()
    assert list(CaneLot.objects.all()) == [mine]
    assert undo.take_back(log).undone_at == log.undone_at


def test_what_hangs_on_it_is_named_and_nothing_goes(student, teacher):
    log = brought(student, GERMAN_STYLE)
    first, second, _third = Reed.objects.order_by("number")
    make.SubmissionFactory(reed=first)
    make.ready_photo(second)
    with pytest.raises(NotPossible, match="reed 2: photo") as refusal:
        undo.take_back(log)
    assert "reed 1: submission" in str(refusal.value) or "reed 1" in str(refusal.value)
    assert "reed 3" not in str(refusal.value)
    assert Reed.objects.count() == 3


def test_a_number_added_later_hangs_on_it(student):
    log = brought(student, GERMAN_STYLE)
    reed = Reed.objects.get(number=3)
    known = write.Reading(log).known
    from reeds.reed.actions import Entry

    record(reed, student, [Entry(known["tie_length"], Method.RULER, value=72.0)])
    with pytest.raises(NotPossible, match="reed 3"):
        undo.take_back(log)


def test_the_rows_go_once_they_are_brought_in(student, django_capture_on_commit_callbacks):
    log = upload(student, GERMAN_STYLE)
    name = log.file.name
    assert default_storage.exists(name)
    with django_capture_on_commit_callbacks(execute=True):
        write.bring_in(log, ALL)
    assert not default_storage.exists(name)


def test_what_is_not_brought_in_is_swept_after_a_day(student):
    log = upload(student, GERMAN_STYLE)
    name = log.file.name
    sweep(timezone.now() + dt.timedelta(hours=23))
    assert default_storage.exists(name)
    sweep(timezone.now() + dt.timedelta(hours=25))
    assert not default_storage.exists(name)
    assert not ReedLog.objects.exists()


def test_a_list_that_was_brought_in_is_not_swept(student):
    log = brought(student, GERMAN_STYLE)
    sweep(timezone.now() + dt.timedelta(days=3))
    assert ReedLog.objects.get() == log
    assert Reed.objects.count() == 3
