"""The student's desk: what was answered, what waits, what is begun, what is to be made."""

import datetime as dt
import re

import pytest
from django.http import QueryDict
from django.utils import timezone

from lessons.answering.models import Answer
from lessons.lesson.models import Lesson, SetWork
from lessons.lesson.pages.desk import desk_of
from lessons.sending.models import Submission
from reeds.sheet.starters import SHORT_SCRAPE
from tests import factories as make
from tests.many import many_of_all

NOW = dt.timedelta()


@pytest.fixture
def desk(as_member, student):
    return lambda: as_member(student).get(student.to("lessons:desk")).content.decode()


def sent(reed, teacher=None, ago=NOW, **given):
    moment = timezone.now() - ago
    row = make.SubmissionFactory(reed=reed, sent_at=moment, answered_at=moment if teacher else None, **given)
    if teacher:
        Answer.objects.create(
            studio=row.studio,
            submission=row,
            author=teacher,
            decision="rest",
            sent_at=moment,
            next_step="Wait.",
        )
    return row


def part(page, heading):
    """The text from one heading to the next."""
    parts = re.split(r"<h2[^>]*>", page)
    return next((text for text in parts if text.startswith(f"{heading}</h2>")), "")


@pytest.fixture
def reeds(student):
    first = make.ReedFactory(owner=student, number=101, stage="scraped")
    return [
        first,
        *(
            make.ReedFactory(owner=student, number=n, version=first.version, stage="scraped")
            for n in (102, 103, 104, 105)
        ),
    ]


def test_each_round_lies_where_it_belongs(desk, reeds, teacher):
    sent(reeds[0], teacher)
    sent(reeds[1], teacher, ago=dt.timedelta(days=3), read_at=timezone.now())
    sent(reeds[2])
    make.SubmissionFactory(reed=reeds[3], draft={"tie_length": "72"})
    make.SubmissionFactory(reed=reeds[4])  # only looked at
    page = desk()
    assert ">101<" in part(page, "Answered, not read yet")
    assert "Wait." in part(page, "Answered, not read yet")
    assert ">102<" in part(page, "Answered")
    assert ">103<" in part(page, "Waits for an answer")
    assert ">104<" in part(page, "Begun, not sent")
    assert ">105<" not in page


def test_a_later_round_says_which_it_is_and_a_first_one_does_not(desk, reeds, teacher):
    sent(reeds[0], teacher, round=2)
    sent(reeds[1], teacher, ago=dt.timedelta(days=3), round=2, read_at=timezone.now())
    sent(reeds[2], round=3)
    make.SubmissionFactory(reed=reeds[3], round=4, draft={"tie_length": "72"})
    sent(reeds[4])
    page = desk()
    headings = {"Answered, not read yet": 2, "Answered": 2, "Waits for an answer": 3, "Begun, not sent": 4}
    for heading, n in headings.items():
        assert f"round {n}" in part(page, heading)
    assert page.count(">round ") == 4


def test_a_draft_of_photos_alone_is_begun(desk, reeds):
    make.SubmissionFactory(reed=reeds[0]).photos.add(make.ready_photo(reeds[0]))
    assert "1 photo" in part(desk(), "Begun, not sent")


def test_an_empty_desk_says_what_to_do(desk):
    assert "Nothing was sent yet" in desk()


def test_blanks_that_rested_enough_are_shown_and_others_not(desk, student):
    day = dt.timedelta(days=1)
    old = make.ReedFactory(owner=student, number=201, stage="bound", stage_since=timezone.now() - day)
    make.ReedFactory(owner=student, number=202, stage="bound", version=old.version)
    page = part(desk(), "Rested enough to scrape")
    assert ">201<" in page
    assert ">202<" not in page


def test_a_sheet_that_says_nothing_of_rest_gives_a_blank_its_night_as_the_box_does(desk, student):
    sheet = SHORT_SCRAPE.to_json()
    sheet["limits"] = [row for row in sheet["limits"] if row["quantity"] != "rest"]
    version = make.VersionFactory(pattern__studio=student.studio, data=sheet)
    for number, hours in ((201, 1), (202, 40)):
        since = timezone.now() - dt.timedelta(hours=hours)
        make.ReedFactory(owner=student, number=number, stage="tied", stage_since=since, version=version)
    page = part(desk(), "Rested enough to scrape")
    assert ">201<" not in page
    assert ">202<" in page


def test_work_that_is_open_and_the_next_lesson_are_shown(desk, student, teacher):
    studio = student.studio
    yesterday = make.today() - dt.timedelta(days=1)
    SetWork.objects.create(studio=studio, student=student, words="Three blanks", due_on=yesterday)
    SetWork.objects.create(studio=studio, student=student, words="Of long ago", due_on=dt.date(2020, 1, 1))
    SetWork.objects.create(studio=studio, student=student, words="Done already", done_at=timezone.now())
    for days in (-7, 7, 14):
        at = timezone.now() + dt.timedelta(days=days)
        Lesson.objects.create(studio=studio, at=at, time_zone="Europe/Berlin").present.add(student)
    page = desk()
    assert "Three blanks" in page
    assert "Of long ago" not in page
    assert "that day is over" in page
    assert "Done already" not in page
    soon = timezone.now() + dt.timedelta(days=7)
    assert f"{soon.astimezone(student.studio.zone):%H:%M}" in part(page, "Next lesson")


def test_a_fellow_students_things_are_not_on_it(desk, other_student, teacher):
    reed = make.ReedFactory(
        owner=other_student, number=301, stage="bound", stage_since=timezone.now() - dt.timedelta(9)
    )
    sent(reed)
    SetWork.objects.create(studio=teacher.studio, student=other_student, words="Not yours")
    page = desk()
    assert ">301<" not in page
    assert "Not yours" not in page


def test_a_reed_taken_out_is_not_on_it(desk, reeds):
    sent(reeds[0])
    type(reeds[0]).objects.update(taken_out_at=timezone.now())
    assert ">101<" not in desk()


def test_the_desk_is_only_got(as_member, student, stranger):
    assert as_member(student).post(student.to("lessons:desk")).status_code == 405
    assert as_member(stranger).get(student.to("lessons:desk")).status_code == 404


def test_the_queries_do_not_grow(as_member, reeds, teacher, student, django_assert_max_num_queries):
    counts, client, desk = [], as_member(student), student.to("lessons:desk")
    for reed in reeds[:1], reeds[1:]:
        for one in reed:
            sent(one, teacher)
            make.ReedFactory(owner=student, version=one.version, stage="bound", number=one.number + 500)
            make.SubmissionFactory(reed=one, round=2, draft={"a": "1"})
            SetWork.objects.create(studio=student.studio, student=student, words="x")
        with django_assert_max_num_queries(17) as counted:  # one for photos, one for what is unread
            client.get(desk)
        counts.append(len(counted.captured_queries))
    assert counts[0] == counts[1]
    assert Submission.objects.count() == 10


def test_who_is_here_for_the_first_time_sees_the_way_in_three_pictures_until_something_is_sent(desk, student):
    page = desk()
    way = page[page.index("data-way=") : page.index("data-way-over")]
    assert (way.count("<svg"), way.count("<li>")) == (3, 3)
    assert "Nothing was sent yet. Send a blank or a reed: a photo alone is enough." in page
    sent(make.ReedFactory(owner=student))
    page = desk()
    assert "data-way" not in page
    assert "sent just now" in page


def test_how_long_ago_is_one_round_number(desk, student):
    sent(make.ReedFactory(owner=student), ago=dt.timedelta(days=1, hours=21))
    assert "sent 1\xa0day ago" in desk()


def test_of_all_that_was_ever_answered_no_more_is_fetched_than_is_shown(student):
    now = timezone.now()
    for days in range(14):
        at = now - dt.timedelta(days=days)
        make.sent_round(student, photos=0, answered_at=at, read_at=at)
    unread = make.sent_round(student, photos=0, answered_at=now - dt.timedelta(days=90))
    desk = desk_of(student, QueryDict())
    assert len(desk.rounds) == 13
    assert [row.pk for row in desk.new.rows] == [unread.pk]
    assert [row.answered_at for row in desk.answered] == [now - dt.timedelta(days=days) for days in range(12)]


@pytest.mark.parametrize("name", ["unread", "new", "begun", "sent", "work", "ready"])
def test_of_a_long_list_a_few_are_shown_and_the_others_are_one_tap_away(desk_of_many, name):
    client, address = desk_of_many
    first = client.get(address).text
    links = re.findall(rf'href="(\?{name}=2)#{name}"', first)
    assert len(links) == 1
    assert f'id="{name}"' in first
    said = re.compile(
        rf'<nav class="actions" aria-labelledby="{name}">.*?<span class="quiet">([^<]*?)\s*</span>', re.DOTALL
    )
    shown = said.search(first)[1]
    assert re.fullmatch(r"12 of \d+", shown), shown
    second = client.get(address + links[0]).text
    assert said.search(second)[1] == shown.replace("12 of", "13–24 of")
    # the other lists are as they were, and nobody is shown an empty one
    assert client.get(address, {name: 9999}).text.count("12 of ") == 6


def test_so_long_a_desk_asks_no_more_and_counts_all(desk_of_many, django_assert_max_num_queries):
    client, address = desk_of_many
    with django_assert_max_num_queries(17):
        page = client.get(address)
    assert page.context["unread_here"] == page.context["desk"].new.total
    assert len(page.context["desk"].rounds) == 36


@pytest.fixture
def desk_of_many(db, as_member):
    """The desk of one of whom a hundred reeds lie there, in each list more than are shown."""
    student = many_of_all(reeds_each=120, some=30).students[0]
    return as_member(student), student.to("lessons:desk")
