"""The pages of a list: who sees which, what they show before anything is written, and what they refuse."""

from __future__ import annotations

import datetime as dt
import threading
import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client

from lessons.log.actions import write
from lessons.log.forms import LEAVE_OUT, MOST_FIELDS, UNDECIDED
from lessons.log.models import ReedLog
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import Method
from reeds.reed.actions import Entry, record
from reeds.reed.models.reed import Reed
from tests import factories as make
from tests.lessons.log.lists import ALL, DAY, GERMAN_STYLE, upload

EVIL = "=cmd|' /C calc'!A0"


def sent(client, member, text, name="reeds.csv", **more):
    data = text if isinstance(text, bytes) else text.encode()
    return client.post(
        member.to("lessons:logs"), {"file": SimpleUploadedFile(name, data), "key": uuid.uuid4(), **more}
    )


def text_of(answer):
    return answer.content.decode()


def choices(log, **changed):
    """The form of a list's columns as its page has it."""
    given = {f"column-{p}": log.chosen.columns.get(p, UNDECIDED) for p in range(len(log.headings))}
    return {**given, "existing": "refuse", "sheet": log.chosen.sheet, "made_on": "", **changed}


@pytest.mark.django_db
def test_from_file_to_reeds_and_back(as_member, student):
    client = as_member(student)
    answer = sent(client, student, GERMAN_STYLE)
    log = ReedLog.objects.get()
    assert answer["Location"] == student.to("lessons:log", log.pk)
    assert (log.by, log.student) == (student, student)
    page = text_of(client.get(answer["Location"]))
    for said in (
        "3 new reeds",
        "9 numbers",
        "2 playing tests",
        "1 note",
        "2 lots of cane",
        "Nothing is written yet.",
    ):
        assert said in page
    assert not Reed.objects.exists()
    answer = client.post(student.to("lessons:log_bring_in", log.pk))
    assert answer.status_code == 302
    assert Reed.objects.count() == 3
    page = text_of(client.get(answer["Location"]))
    assert "3 new reeds" in page
    assert "Take it back as one" in page
    reed = text_of(client.get(student.to("reeds:reed", Reed.objects.first().pk)))
    assert "from a list that was brought in" in reed
    client.post(student.to("lessons:log_take_back", log.pk))
    assert not Reed.objects.exists()
    assert "Taken back on" in text_of(client.get(student.to("lessons:log", log.pk)))


@pytest.mark.django_db
def test_what_a_teacher_brought_in_is_shown_to_both(as_member, teacher, student):
    """Who measured is not known, and no page minds."""
    today = make.today()
    make.TermFactory(
        studio=student.studio, starts_on=today - dt.timedelta(days=400), ends_on=today + dt.timedelta(days=1)
    )
    days = (today - dt.timedelta(days=30)).isoformat()
    text = f"student,reed,made on,tie length,low notes,given up,note\n{student},1,{days},72,5,leaks,x\n"
    write.bring_in(upload(teacher, text, student=None), ALL)
    reed = Reed.objects.get()
    for member in (teacher, student):
        client = as_member(member)
        for page in (member.to("reeds:reed", reed.pk), member.to("lessons:term"), member.to("reeds:reeds")):
            assert client.get(page).status_code == 200
        shown = text_of(client.get(member.to("reeds:reed", reed.pk)))
        assert shown.count("from a list that was brought in") >= 4


@pytest.mark.django_db
def test_numbers_of_a_list_and_typed_ones_are_told_apart(as_member, student):
    write.bring_in(upload(student, f"reed,made on,tie length\n1,{DAY},72\n"), ALL)
    reed = Reed.objects.get()
    record(reed, student, [Entry(QUANTITIES["tie_length"], Method.RULER, value=71.5)], at=reed.made_at)
    page = text_of(as_member(student).get(student.to("reeds:reed", reed.pk)))
    numbers = page[page.index("71.5") - 2000 :]
    assert numbers.count('<dl class="readings">') >= 2


@pytest.mark.django_db
def test_the_term_and_the_box_lead_to_it(as_member, teacher, student):
    for member in (teacher, student):
        for page in ("lessons:term", "reeds:box"):
            assert f'href="{member.to("lessons:logs")}"' in text_of(as_member(member).get(member.to(page)))


@pytest.mark.django_db
def test_a_cell_is_shown_and_never_anything_else(as_member, student):
    text = f'reed,made on,note,<b>colour</b>\n1,{DAY},"{EVIL}","<script>alert(1)</script>"\n'
    client = as_member(student)
    page = text_of(client.get(sent(client, student, text)["Location"]))
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page
    assert "<script>alert(1)" not in page
    assert "<b>colour</b>" not in page
    log = write.bring_in(ReedLog.objects.get(), ALL)
    assert log.made["notes"] == 1
    assert Reed.objects.get().events.get(kind="note").why == EVIL


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", "This file is empty."),
        (b"\x89PNG\r\n\x1a\n\x00", "no table of text"),
        (b"PK\x03\x04rest", "cannot be read"),
        (b"x" * (12 * 1024 * 1024 + 1), "larger than 12 MB"),
        (b"reed,made on\n", "no row below them"),
    ],
)
def test_a_file_that_is_no_list_is_answered_beside_the_field(as_member, student, data, sentence):
    answer = sent(as_member(student), student, data)
    assert answer.status_code == 422
    assert sentence in text_of(answer)
    assert not ReedLog.objects.exists()


@pytest.mark.django_db
def test_without_a_file_and_without_a_sheet(as_member, student):
    client = as_member(student)
    assert client.post(student.to("lessons:logs"), {}).status_code == 422
    lone = make.student()
    answer = sent(as_member(lone), lone, GERMAN_STYLE)
    assert "no measuring sheet yet" in text_of(answer)


@pytest.mark.django_db
def test_a_teacher_says_whose_it_is_or_a_column_does(as_member, teacher, student, stranger):
    client = as_member(teacher)
    sent(client, teacher, GERMAN_STYLE, student=student.pk)
    assert ReedLog.objects.get().student == student
    assert sent(client, teacher, GERMAN_STYLE, student=stranger.pk).status_code == 422
    sent(client, teacher, f"student,reed,made on\n{student},9,{DAY}\n")
    assert ReedLog.objects.order_by("pk").last().student is None
    # a student's own list is their own, whoever the form names
    sent(as_member(student), student, GERMAN_STYLE, student=teacher.pk)
    assert ReedLog.objects.order_by("pk").last().student == student


@pytest.mark.django_db
def test_who_sees_which_list(as_member, teacher, student, other_student, stranger):
    log = upload(student, GERMAN_STYLE)
    theirs = upload(teacher, GERMAN_STYLE, name="of the teacher.csv", student=student)
    assert log.name in text_of(as_member(teacher).get(teacher.to("lessons:logs")))
    assert theirs.name not in text_of(as_member(student).get(student.to("lessons:logs")))
    for name in ("log", "log_choose", "log_bring_in", "log_take_back", "log_drop"):
        for member in (other_student, stranger):
            address = member.to(f"lessons:{name}", log.pk)
            client = as_member(member)
            assert {client.get(address).status_code, client.post(address).status_code} <= {404, 405}
    assert ReedLog.objects.get(pk=log.pk).is_waiting


@pytest.mark.django_db
def test_columns_are_chosen_otherwise(as_member, student):
    log = upload(student, f"reed,made on,length,colour\n1,{DAY},72,red\n")
    client, address = as_member(student), student.to("lessons:log_choose", log.pk)
    page = text_of(client.get(student.to("lessons:log", log.pk)))
    assert "Leave out the columns that are not known: length, colour" in page
    answer = client.post(address, choices(log, **{"column-2": "tie_length", "column-3": LEAVE_OUT}))
    assert answer.status_code == 302
    page = text_of(client.get(answer["Location"]))
    assert "Leave out the columns" not in page
    assert "1 number" in page
    client.post(student.to("lessons:log_bring_in", log.pk))
    assert Reed.objects.get().measurements.get().value == 72.0


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"column-2": "reed"}, "is taken for the same"),
        ({"column-2": "nonsense"}, "Select a valid choice"),
        ({"column-3": "tie_length"}, "“g” is no unit of tie length"),
        ({"made_on": "2999-01-01"}, "That day has not come yet"),
        ({"sheet": 10**6}, "Select a valid choice"),
        ({"existing": ""}, "This field is required"),
    ],
)
def test_choices_that_cannot_be_are_answered_beside_their_field(as_member, student, changed, sentence):
    log = upload(student, f"reed,made on,length,weight (g)\n1,{DAY},72,3\n")
    before = log.choices
    answer = as_member(student).post(student.to("lessons:log_choose", log.pk), choices(log, **changed))
    assert answer.status_code == 422
    assert sentence in text_of(answer)
    log.refresh_from_db()
    assert log.choices == before


@pytest.mark.django_db
def test_the_order_of_days_is_asked_and_kept(as_member, student):
    log = upload(student, "reed,made on\n1,3/4/2026\n")
    client = as_member(student)
    assert "Days under “made on” such as 3/4/2026" in text_of(client.get(student.to("lessons:log", log.pk)))
    client.post(student.to("lessons:log_choose", log.pk), choices(log, **{"order-1": "day"}))
    page = text_of(client.get(student.to("lessons:log", log.pk)))
    assert "1 new reed" in page
    assert "Days under" in page  # it can be chosen otherwise still
    client.post(student.to("lessons:log_bring_in", log.pk))
    assert Reed.objects.get().made_at.month == 4


@pytest.mark.django_db
def test_a_file_the_teacher_brought_in_can_be_agreed_to_by_the_student(as_member, teacher, student):
    text = f"made on,tie length\n{DAY},72\n"
    write.bring_in(upload(teacher, text, student=student), ALL)
    log = upload(student, text)
    client, address = as_member(student), student.to("lessons:log_bring_in", log.pk)
    page = text_of(client.get(student.to("lessons:log", log.pk)))
    assert "This very file was brought in before, on " in page
    assert client.post(address).status_code == 422
    assert client.post(address, {"again": "on"}).status_code == 302
    assert Reed.objects.count() == 2


@pytest.mark.django_db
def test_what_is_not_settled_is_said_and_nothing_is_written(as_member, student):
    log = upload(student, f"reed,made on,colour\n1,{DAY},red\nx,{DAY},red\n")
    client, address = as_member(student), student.to("lessons:log_bring_in", log.pk)
    answer = client.post(address)
    assert answer.status_code == 422
    assert "Some columns are not known" in text_of(answer)
    assert "Some rows cannot be used" in text_of(answer)
    assert not Reed.objects.exists()
    assert client.post(address, {"leave_columns": "on", "leave_rows": "on"}).status_code == 302
    assert Reed.objects.count() == 1


@pytest.mark.django_db
def test_rows_are_shown_page_by_page_with_what_is_wrong(as_member, student):
    rows = "".join(f"{n},{DAY},{'7.2' if n == 30 else '72'}\n" for n in range(1, 61))
    log = upload(student, "reed,made on,tie length\n" + rows)
    client, address = as_member(student), student.to("lessons:log", log.pk)
    first, second = (text_of(client.get(f"{address}?page={n}")) for n in (1, 2))
    assert "page 1 of 3" in first
    assert second.count("Did you mean 72?") == first.count("Did you mean 72?") + 1
    for bad in ("0", "-1", "x", "99999999999999999999"):
        assert client.get(f"{address}?page={bad}").status_code == 200


@pytest.mark.django_db
def test_of_very_many_columns_only_the_known_have_a_field(as_member, student):
    headings = ["reed", "made on", *(f"c{n}" for n in range(398))]
    log = upload(student, ",".join(headings) + f"\n1,{DAY}," + ",".join(["x"] * 398) + "\n")
    client = as_member(student)
    answer = client.get(student.to("lessons:log", log.pk))
    assert text_of(answer).count("<select") == 2 + 2 < MOST_FIELDS
    assert len(answer.content) < 300_000
    client.post(student.to("lessons:log_bring_in", log.pk), {"leave_columns": "on"})
    assert Reed.objects.count() == 1


@pytest.mark.django_db
def test_an_upload_is_forgotten(as_member, student):
    log = upload(student, GERMAN_STYLE)
    client = as_member(student)
    client.post(student.to("lessons:log_drop", log.pk))
    assert log.name not in text_of(client.get(student.to("lessons:logs")))
    assert client.post(student.to("lessons:log_bring_in", log.pk)).status_code == 302
    assert not Reed.objects.exists()
    brought = write.bring_in(upload(student, GERMAN_STYLE), ALL)
    assert "take it back instead" in text_of(
        client.post(student.to("lessons:log_drop", brought.pk), follow=True)
    )
    assert Reed.objects.count() == 3


@pytest.mark.django_db
def test_what_hangs_on_it_is_said(as_member, student):
    log = write.bring_in(upload(student, GERMAN_STYLE), ALL)
    make.ready_photo(Reed.objects.get(number=2))
    answer = as_member(student).post(student.to("lessons:log_take_back", log.pk))
    assert answer.status_code == 422
    assert "something else hangs on it: reed 2: a photo" in text_of(answer)
    assert Reed.objects.count() == 3


@pytest.mark.django_db(transaction=True)
def test_two_taps_at_once_bring_it_in_once(student):
    log = upload(student, GERMAN_STYLE)
    ready = threading.Barrier(2)
    statuses = []

    def tap():
        client = Client()
        client.force_login(student.person)
        ready.wait()
        statuses.append(client.post(student.to("lessons:log_bring_in", log.pk)).status_code)
        connection.close()

    taps = [threading.Thread(target=tap) for _ in range(2)]
    for one in taps:
        one.start()
    for one in taps:
        one.join()
    assert statuses == [302, 302]
    assert Reed.objects.count() == 3
