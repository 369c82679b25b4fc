"""Reeds waiting: who sees them, in which order, and why."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from lessons.answering import actions
from lessons.answering.models import Reply
from lessons.answering.pages.queue import waiting_line
from lessons.answering.pages.unread import unread_replies
from lessons.lesson.models import Lesson
from lessons.sending import need
from lessons.sending.models import Submission
from reeds.reed.models.measurement import Measurement
from tests import factories as make


@pytest.fixture
def desk(as_member, teacher):
    return as_member(teacher)


def shown(client, member, **asked):
    page = client.get(member.to("lessons:queue"), asked)
    assert page.status_code == 200
    return [line.round.pk for line in page.context["lines"]], page.content.decode()


def line_of(teacher):
    return waiting_line(teacher, unread_replies(teacher))


def order(teacher):
    return [place.pk for place in line_of(teacher)]


def lesson(student, **ahead):
    at = timezone.now() + dt.timedelta(**ahead)
    row = Lesson.objects.create(studio=student.studio, at=at, time_zone="Europe/Berlin")
    row.present.add(student)
    return row


def say_back(row, by, words="Now it closes."):
    return Reply.objects.create(studio=row.studio, submission=row, by=by, words=words)


def measured_on_its_photo(row, *, sent_before=False):
    at = row.sent_at - dt.timedelta(hours=1) if sent_before else timezone.now()
    Measurement.objects.create(
        studio=row.studio,
        reed=row.reed,
        quantity="tie_length",
        value=72,
        u=0.2,
        method="photo",
        stage=row.stage,
        photo=row.photos.first(),
        entered_at=at,
    )


def test_a_teacher_sees_what_waits_and_opens_it(desk, teacher, student):
    row = make.sent_round(student, question="Why does it close on the left?")
    pks, text = shown(desk, teacher)
    assert pks == [row.pk]
    assert teacher.to("lessons:review", row.pk) in text
    assert "Why does it close" in text
    assert "sent in the last day" not in text
    assert "waits 1 day" in text


def test_a_draft_an_answered_round_and_a_reed_taken_out_are_not_there(desk, teacher, student):
    make.SubmissionFactory(reed=make.ReedFactory(owner=student))
    make.sent_round(student, answered_at=timezone.now())
    make.sent_round(student, reed=make.ReedFactory(owner=student, taken_out_at=timezone.now()))
    assert shown(desk, teacher)[0] == []


def test_a_student_and_a_stranger_find_no_queue(as_member, student, stranger, teacher):
    assert as_member(student).get(student.to("lessons:queue")).status_code == 404
    assert as_member(stranger).get(teacher.to("lessons:queue")).status_code == 404


def test_a_teacher_of_another_studio_sees_their_own_alone(as_member, student, stranger):
    make.sent_round(student)
    assert shown(as_member(stranger), stranger)[0] == []


def test_more_found_comes_first(teacher, student):
    little = make.sent_round(student, need=1)
    much = make.sent_round(student, need=9)
    assert order(teacher) == [much.pk, little.pk]


def test_a_reed_with_a_few_findings_gives_way_to_one_that_waited_for_two_weeks(teacher, student):
    found = make.sent_round(student, need=8, days=0.2)
    waited = make.sent_round(student, need=0, days=15)
    assert order(teacher) == [waited.pk, found.pk]


def test_no_number_of_findings_counts_for_more_than_the_most(teacher, student):
    many = make.sent_round(student, need=500, days=1)
    waited = make.sent_round(student, need=need.MOST_FOUND, days=8)
    assert order(teacher) == [waited.pk, many.pk]


SIX_DOUBTS = {"need": 6, "findings": [make.finding("too_close")] * 6}


@pytest.mark.parametrize("sooner", ["leak", "question", "reply", "lesson tomorrow"])
def test_who_waits_for_a_person_comes_before_six_doubts(sooner, teacher, student, other_student):
    doubts = make.sent_round(other_student, **SIX_DOUBTS)
    row = make.sent_round(
        student, leaks=sooner == "leak", question="Why?" if sooner == "question" else "", photos=0
    )
    if sooner == "reply":
        say_back(row, student)
    elif sooner == "lesson tomorrow":
        lesson(student, hours=20)
    assert order(teacher) == [row.pk, doubts.pk]


@pytest.mark.parametrize("cause", ["leaks", "asks", "said_back"])
def test_nothing_that_the_checks_found_buries_who_waits_for_a_person(cause):
    kinds = {"leaks": "leak", "asks": "question", "said_back": "reply"}
    points = [row.points for row in need.ORDER if row.kind == kinds[cause]]
    assert min(points) > need.MOST_FOUND


def test_what_came_later_moves_a_reed_up(teacher, student):
    first = make.sent_round(student, need=2)
    row = make.sent_round(student, need=0)
    assert order(teacher) == [first.pk, row.pk]
    measured_on_its_photo(row, sent_before=True)
    assert order(teacher) == [first.pk, row.pk]
    measured_on_its_photo(row)
    assert order(teacher) == [row.pk, first.pk]


def test_a_reply_that_was_read_counts_for_nothing(teacher, student):
    first = make.sent_round(student, need=2)
    row = make.sent_round(student)
    say_back(row, student)
    say_back(first, teacher)  # a teacher's own words wait for the student
    assert order(teacher) == [row.pk, first.pk]
    actions.note_read(row, teacher)
    assert order(teacher) == [first.pk, row.pk]


def test_the_points_are_what_the_table_adds_up_to(teacher, student):
    row = make.sent_round(student, days=8, need=50, leaks=True, question="?")
    say_back(row, student)
    lesson(student, hours=30)
    measured_on_its_photo(row)
    points = {(one.kind, one.days): one.points for one in need.ORDER}
    held = [("leak", 0), ("reply", 0), ("lesson", 2), ("question", 0), ("later", 0), ("waited", 7)]
    (place,) = line_of(teacher)
    assert place.points == need.MOST_FOUND + sum(points[one] for one in held)


def test_the_thresholds_of_one_kind_stand_with_the_greatest_first():
    for kind in ("lesson", "waited"):
        points = [row.points for row in need.ORDER if row.kind == kind]
        assert points == sorted(points, reverse=True)


def test_the_page_shows_the_whole_table_under_why_this_order(desk, teacher, student):
    make.sent_round(student)
    page = desk.get(teacher.to("lessons:queue")).content.decode()
    table = page[page.index("Why this order") :]
    for row in need.ORDER:
        assert f"{row.name}</th><td>{row.points}</td>" in table
    assert f"<td>{need.MOST_FOUND}</td>" in table


def test_the_sending_notes_a_leak(as_member, student):
    for word, leaks in (("yes", False), ("no", True)):
        reed = make.ReedFactory(owner=student, stage="bound")
        as_member(student).post(student.to("lessons:go", reed.pk), {"airtight": word})
        assert Submission.objects.get(reed=reed).leaks is leaks


# --- one round a reed ---


def test_an_older_round_that_waits_folds_into_the_newer(desk, teacher, student):
    reed = make.ReedFactory(owner=student)
    make.sent_round(student, reed=reed, days=9, question="And this?")
    newer = make.sent_round(student, reed=reed, round=2)
    pks, text = shown(desk, teacher)
    assert pks == [newer.pk]
    assert "and an older one" in text
    assert "waits 9 days" in text
    assert "a question" in text
    assert "1 reed waits" in text


def test_the_next_reed_is_never_an_older_round(desk, teacher, student):
    reed = make.ReedFactory(owner=student)
    make.sent_round(student, reed=reed, days=9)
    newer = make.sent_round(student, reed=reed, round=2)
    first = make.sent_round(student, need=9)
    sent = desk.post(teacher.to("lessons:answer", first.pk), {"decision": "play"})
    assert sent.url == teacher.to("lessons:review", newer.pk)


# --- what was said back ---


def test_what_was_said_back_stands_there_with_its_count_until_it_is_opened(desk, teacher, student):
    row = make.sent_round(student, answered_at=timezone.now())
    for words in ("I cut it.", "Now it leaks."):
        say_back(row, student, words)
    page = desk.get(teacher.to("lessons:queue"))
    text = page.content.decode()
    assert [(one.pk, len(one.replies)) for one in page.context["unread"].rows] == [(row.pk, 2)]
    assert "2 replies" in text
    assert f"{teacher.to('lessons:round', row.pk)}#replies" in text
    desk.get(
        teacher.to("lessons:round", row.pk)
    )  # a look alone changes nothing: the page says that it is open
    assert desk.get(teacher.to("lessons:queue")).context["unread"]
    desk.post(teacher.to("lessons:read", row.pk), headers={"HX-Request": "true"})
    assert desk.get(teacher.to("lessons:queue")).context["unread"].rows == []


def test_what_was_said_in_another_studio_or_by_teachers_is_not_there(desk, teacher, student, stranger):
    say_back(make.sent_round(student, answered_at=timezone.now()), make.teacher(studio=teacher.studio))
    say_back(make.sent_round(foreign := make.student(studio=stranger.studio)), foreign)
    assert desk.get(teacher.to("lessons:queue")).context["unread"].rows == []


def test_a_lesson_tomorrow_comes_before_none_and_before_one_next_week(teacher, student, other_student):
    without = make.sent_round(make.student(studio=teacher.studio))
    later = make.sent_round(other_student)
    soon = make.sent_round(student)
    lesson(other_student, days=6)
    lesson(student, hours=20)
    assert order(teacher) == [soon.pk, later.pk, without.pk]


def test_a_lesson_that_is_over_counts_for_nothing(teacher, student):
    lesson(student, days=-1)
    make.sent_round(student)
    (place,) = line_of(teacher)
    assert place.waiting.next_lesson is None


def test_among_equals_the_longest_waiting_is_first(teacher, student):
    second = make.sent_round(student, days=0.1)
    first = make.sent_round(student, days=0.3)
    assert order(teacher) == [first.pk, second.pk]


def test_the_page_says_why_a_reed_stands_where_it_stands(desk, teacher, student):
    found = [
        make.finding("above"),
        make.finding("below"),
        make.finding("contradiction"),
        make.finding("within"),
    ]
    make.sent_round(student, days=3, findings=[*found, make.finding("missing")], need=12)
    lesson(student, days=2, hours=1)
    text = shown(desk, teacher)[1]
    for reason in (
        "2 things off the sheet",
        "1 contradiction",
        "1 number to measure again",
        "waits 3 days",
        "lesson in 2 days",
    ):
        assert reason in text


def test_the_filters_narrow_it(desk, teacher, student, other_student):
    other_student.under_age = True
    other_student.save()
    plain = make.sent_round(student, reed=make.ReedFactory(owner=student, stage="playing"))
    odd = make.sent_round(other_student, findings=[make.finding("contradiction")])
    actions.claim(plain, teacher)
    assert shown(desk, teacher, student=student.pk)[0] == [plain.pk]
    assert shown(desk, teacher, stage="playing")[0] == [plain.pk]
    assert shown(desk, teacher, mine="on")[0] == [plain.pk]
    assert shown(desk, teacher, contradiction="on")[0] == [odd.pk]
    assert shown(desk, teacher, under_age="on")[0] == [odd.pk]


@pytest.mark.parametrize("asked", [{"student": "no"}, {"stage": "no"}, {"page": "99"}, {"student": "999999"}])
def test_a_filter_that_cannot_be_read_shows_the_queue(asked, desk, teacher, student):
    row = make.sent_round(student)
    assert shown(desk, teacher, **asked)[0] == [row.pk]


def test_a_students_name_of_another_studio_is_not_among_the_filters(desk, teacher, stranger):
    foreign = make.student(studio=stranger.studio)
    assert str(foreign) not in shown(desk, teacher)[1]


def test_it_is_paged_and_every_reed_is_on_one_page(desk, teacher, student):
    for _reed in range(27):
        make.sent_round(student, photos=0)
    first, second = shown(desk, teacher)[0], shown(desk, teacher, page=2)[0]
    assert (len(first), len(second)) == (25, 2)
    assert len({*first, *second}) == 27


def test_a_part_of_the_page_is_swapped_by_htmx(desk, teacher, student):
    make.sent_round(student)
    part = desk.get(teacher.to("lessons:queue"), headers={"HX-Request": "true"}).content.decode()
    assert part.lstrip().startswith("<section")


def test_the_queries_are_as_many_for_three_reeds_as_for_twenty(desk, teacher, student, other_student):
    def queries():
        with CaptureQueriesContext(
            connection,
        ) as counted:
            shown(desk, teacher)
        return len(counted)

    def more(count):
        for n in range(count):
            row = make.sent_round((student, other_student)[n % 2], findings=[make.finding("above")])
            actions.claim(row, teacher)

    more(3)
    few = queries()
    more(17)
    assert 5 < few <= 8
    assert queries() == few


def test_a_new_studio_is_shown_how_it_goes_until_something_was_sent(
    desk, as_member, teacher, student, stranger
):
    make.sent_round(make.student(studio=stranger.studio))
    make.SubmissionFactory(reed=make.ReedFactory(owner=student))  # begun, not sent
    _, page = shown(desk, teacher)
    assert "How it goes" in page
    assert "Nothing was sent yet." in page
    for name in ("invite", "reeds:patterns", "reeds:card"):
        assert teacher.to(name) in page
    _, to_an_assistant = shown(as_member(make.assistant(studio=teacher.studio)), teacher)
    assert teacher.to("invite") not in to_an_assistant
    Submission.objects.filter(student=student).update(sent_at=timezone.now(), answered_at=timezone.now())
    _, page = shown(desk, teacher)
    assert "How it goes" not in page
    assert "No reed waits. Time for your own." in page
