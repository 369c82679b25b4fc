"""What must be settled before a list comes in, reeds that are there already, once and not twice, and back."""

import datetime as dt

import pytest
from django.core.files.storage import default_storage
from django.utils import timezone

from lessons.lesson.models import SetWork
from lessons.log.actions import keep, undo, write
from lessons.log.actions.write import Agreed
from lessons.log.choices import LEFT_OUT
from lessons.log.models import ReedLog
from lessons.log.table.days import Order
from lessons.log.table.existing import Existing
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import Method, Stage
from reeds.reed.actions import Entry, move_stage, name_reference, record
from reeds.reed.models.cane import CaneLot
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.playing import PlayingTest
from reeds.reed.models.reed import Reed, ReedEvent
from reeds.sweep import sweep
from studio.errors import NotPossible
from tests import factories as make
from tests.lessons.log.lists import ALL, DAY, GERMAN_STYLE, NOT_YET, brought, choose, found, upload, wrong

pytestmark = pytest.mark.django_db


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


def test_another_file_under_the_same_key_is_another_list(student):
    """The page was gone back to."""
    key = "6f1c2c5e-3b1e-4c1e-9a52-6a1f6c1f0a11"
    texts = (GERMAN_STYLE, LATER)
    files = (keep.Upload("a.csv", text.encode(), student.studio, student, student) for text in texts)
    first, second = (keep.keep(file, key) for file in files)
    assert first.row_count == 3
    assert second.row_count == 2
    assert first.key != second.key


def test_so_many_lists_wait_and_no_more(student, monkeypatch):
    monkeypatch.setattr(keep, "MAX_WAITING", 2)
    first = upload(student, GERMAN_STYLE)
    upload(student, LATER)
    with pytest.raises(NotPossible, match="Many lists wait"):
        upload(student, LATER)
    keep.drop(first)
    assert upload(student, LATER).is_waiting


def test_a_sheet_put_away_meanwhile_still_holds(student, version):
    other = make.VersionFactory(pattern__studio=student.studio)
    log = upload(student, GERMAN_STYLE)
    choose(log, sheet=other.pattern_id)
    other.pattern.put_away_at = timezone.now()
    other.pattern.save()
    write.bring_in(log, ALL)
    assert {reed.version for reed in Reed.objects.all()} == {other}


def test_reeds_made_meanwhile_have_it_looked_over_once_more(student, version):
    log = upload(student, GERMAN_STYLE)
    understood = write.Understood(log)
    gathering = write._gathered(understood)
    make.ReedFactory(owner=student, number=2, version=version)
    with pytest.raises(write._Changed):
        write._written(understood, gathering)
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
    with pytest.raises(NotPossible, match="reed 2: a photo") as refusal:
        undo.take_back(log)
    assert "reed 1: a round" in str(refusal.value)
    assert "reed 3" not in str(refusal.value)
    assert Reed.objects.count() == 3


def number_added(reed, student):
    record(reed, student, [Entry(QUANTITIES["tie_length"], Method.RULER, value=72.0)])


def step_taken(reed, student):
    move_stage(reed, student, Stage.BOUND)


def work_set(reed, student):
    work = SetWork.objects.create(studio=student.studio, student=student, words="x", count=1)
    work.reeds.add(reed)


def named_reference(reed, student):
    reed.stage = Stage.PLAYING
    name_reference(reed)


def recorded(reed, student):
    make.ready_take(reed)


@pytest.mark.parametrize(
    ("later", "what"),
    [
        (number_added, "a number noted since"),
        (step_taken, "something noted since"),
        (work_set, "set work it came of"),
        (named_reference, "the good reed to compare recordings with"),
        (recorded, "a recording"),
    ],
)
def test_what_was_done_with_a_reed_since_hangs_on_it(student, later, what):
    log = brought(student, GERMAN_STYLE)
    later(Reed.objects.get(number=3), student)
    with pytest.raises(NotPossible, match=f"reed 3: .*{what}"):
        undo.take_back(log)
    assert Reed.objects.count() == 3


def test_the_rows_go_once_they_are_brought_in(student, django_capture_on_commit_callbacks):
    log = upload(student, GERMAN_STYLE)
    name = log.file.name
    assert default_storage.exists(name)
    with django_capture_on_commit_callbacks(execute=True):
        write.bring_in(log, ALL)
    assert not default_storage.exists(name)


def test_rows_that_are_gone_are_said_and_nothing_is_made(student):
    log = upload(student, GERMAN_STYLE)
    default_storage.delete(log.file.name)
    with pytest.raises(NotPossible, match="choose the file once more"):
        write.bring_in(log, ALL)
    assert ReedLog.objects.get().is_waiting


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
