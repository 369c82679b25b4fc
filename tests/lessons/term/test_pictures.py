"""What the pictures of a term show, and to whom."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from django.utils import timezone

from lessons.term.first_and_latest import TakeInTerm, furthest_apart
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.reed import ReedEvent
from studio.models import Member
from tests import factories as make

NOON = dt.datetime(2026, 10, 1, 12, tzinfo=dt.UTC)


@pytest.fixture
def term(teacher):
    today = make.today()
    starts, ends = today - dt.timedelta(days=60), today + dt.timedelta(days=40)
    return make.TermFactory(studio=teacher.studio, starts_on=starts, ends_on=ends)


def measured(student, value, quantity="tie_length", days=1, **given):
    made = timezone.now() - dt.timedelta(days=days)
    reed = make.ReedFactory(owner=student, made_at=made, **given)
    about = {"quantity": quantity, "value": value, "u": 0.2, "method": "ruler", "stage": "tied", "at": made}
    Measurement.objects.create(studio=reed.studio, reed=reed, **about)
    return reed


def page_of(as_member, member, *more, **asked):
    """A page of a term, and behind a student's own what they unfold of it: all numbers in pictures."""
    client = as_member(member)
    page = client.get(member.to("lessons:term", *more), asked).text
    return page + ("" if member.teaches else client.get(member.to("lessons:term_pictures")).text)


# --- a student's own ------------------------------------------------------------------------------


def test_a_quantity_is_drawn_against_the_band_with_the_numbers_under_it(as_member, student, term):
    for value in (72.0, 73.6, 90.0):
        measured(student, value)
    page = page_of(as_member, student)
    assert "tie length over the term: 3 numbers, 1 of 3 inside the limits" in page
    (outside,) = re.findall(r'class="without" d="(.*?)"', page)[2:]  # the first two stand in the key
    assert outside.count("M") == 2
    assert "73.6" in page


def test_one_number_is_no_picture(as_member, student, term):
    measured(student, 72.5)
    page = page_of(as_member, student)
    assert "Measured once" in page
    assert "over the term:" not in page


def test_all_equal_numbers_are_drawn(as_member, student, term):
    for _ in range(3):
        measured(student, 72.0)
    assert "3 of 3 inside the limits" in page_of(as_member, student)


def test_without_a_band_a_quantity_keeps_its_own_scale(as_member, student, term):
    for value in (5.1, 5.4):
        measured(student, value, quantity="cane_beyond_thread")
    page = page_of(as_member, student)
    assert 'class="grid"' in page
    assert "2 numbers." in page


def test_what_comes_back_stands_in_time_and_once_does_not(as_member, student, term):
    low = {"check": "heard", "outcome": "below", "choice": "low_notes"}
    long = {"check": "limits", "outcome": "above", "quantity": "tie_length"}
    asks = {"check": "missing", "outcome": "missing", "quantity": "slip"}
    for found in ([low, asks], [low, long, asks]):
        make.SubmissionFactory(reed=make.ReedFactory(owner=student), sent_at=timezone.now(), findings=found)
    page = page_of(as_member, student)
    strip = page[page.index('<ul class="strip">') :].partition("</ul>")[0]
    assert "Low notes that speak seldom or not" in strip
    assert "2 reeds" in strip
    assert "Tied too long" not in strip
    assert "slip" not in strip.lower()


def test_the_first_and_the_latest_reed_lie_at_true_scale(as_member, student, term):
    photos = [make.measured_photo(measured(student, 72.0, days=days)) for days in (30, 20, 3)]
    page = page_of(as_member, student)
    shown = [photo.pk for photo in photos if student.to("reeds:flat", photo.pk) in page]
    assert shown == [photos[0].pk, photos[2].pk]
    assert page.index(student.to("reeds:flat", shown[0])) < page.index(student.to("reeds:flat", shown[1]))


def test_one_measured_photo_is_shown_and_says_so(as_member, student, term):
    photo = make.measured_photo(measured(student, 72.0))
    page = page_of(as_member, student)
    assert student.to("reeds:flat", photo.pk) in page
    assert "Only one reed" in page


def test_a_photo_that_is_not_flat_yet_is_not_shown(as_member, student, term):
    make.measured_photo(measured(student, 72.0), flat_of=None)
    page = page_of(as_member, student)
    assert "/flat/" not in page
    assert "none is laid flat yet" in page


def test_without_a_measured_photo_a_sentence_says_so(as_member, student, term):
    measured(student, 72.0)
    assert "No photo of a reed of these weeks was measured" in page_of(as_member, student)


def test_a_reed_of_another_term_is_not_the_first(as_member, student, term):
    photo = make.measured_photo(measured(student, 72.0, days=300))
    measured(student, 72.0)
    assert student.to("reeds:flat", photo.pk) not in page_of(as_member, student)


def test_an_early_and_a_late_take_can_be_heard_by_student_and_teacher(as_member, student, teacher, term):
    takes = [
        make.ready_take(measured(student, 72.0), at=timezone.now() - dt.timedelta(days=days))
        for days in (40, 20, 2)
    ]
    for member, more in ((student, []), (teacher, [student.pk])):
        page = page_of(as_member, member, *more)
        heard = [take.pk for take in takes if member.to("reeds:take_sound", take.pk) in page]
        assert heard == [takes[0].pk, takes[2].pk]


def test_a_take_that_was_taken_back_is_not_heard(as_member, student, term):
    take = make.ready_take(measured(student, 72.0), taken_back_at=timezone.now())
    page = page_of(as_member, student)
    assert student.to("reeds:take_sound", take.pk) not in page
    assert "Nothing was recorded" in page


def take(pk, item, days, reed):
    return TakeInTerm(pk, item, NOON + dt.timedelta(days=days), reed)


@pytest.mark.parametrize(
    ("takes", "chosen"),
    [
        ([], []),
        ([take(1, "tuning", 0, 1)], [1]),
        ([take(1, "tuning", 0, 1), take(2, "tuning", 20, 1)], [2]),
        ([take(1, "tuning", 0, 1), take(2, "tuning", 6, 2)], [2]),
        ([take(1, "tuning", 0, 1), take(2, "low_notes", 20, 2)], [2]),
        (
            [
                take(1, "low_notes", 0, 1),
                take(2, "tuning", 1, 1),
                take(3, "low_notes", 9, 2),
                take(4, "tuning", 30, 3),
            ],
            [2, 4],
        ),
    ],
)
def test_two_takes_are_of_one_item_of_two_reeds_and_a_week_apart(takes, chosen):
    assert [one.take for one in furthest_apart(takes)] == chosen


# --- the studio -----------------------------------------------------------------------------------


def test_the_studio_has_a_picture_a_student_that_leads_to_their_page(
    as_member, teacher, student, other_student, term
):
    measured(student, 72.0)
    measured(other_student, 73.0)
    page = page_of(as_member, teacher)
    for one in (student, other_student):
        assert f"{one} over the term: 1 number" in page
        assert f'{teacher.to("lessons:term", one.pk)}?term={term.pk}"' in page


def test_the_teacher_chooses_what_is_drawn(as_member, teacher, student, term):
    for _ in range(2):
        measured(student, 72.0)
    measured(student, 27.0, quantity="cane_beyond_staple")
    assert '<option value="tie_length" selected>' in page_of(as_member, teacher)
    page = page_of(as_member, teacher, quantity="cane_beyond_staple")
    assert '<option value="cane_beyond_staple" selected>' in page
    assert f"{student} over the term: 1 number" in page


@pytest.mark.parametrize("asked", ["nothing", "airtight", "tie_length'--"])
def test_what_is_no_number_of_the_studio_does_not_exist(as_member, teacher, student, term, asked):
    measured(student, 72.0)
    assert as_member(teacher).get(teacher.to("lessons:term"), {"quantity": asked}).status_code == 404


def test_another_quantity_that_nobody_measured_draws_nothing(as_member, teacher, student, term):
    measured(student, 72.0)
    assert "over the term:" not in page_of(as_member, teacher, quantity="gouge")


def test_a_student_sees_no_other_and_no_picture_of_the_studio(as_member, student, other_student, term):
    measured(student, 72.0)
    measured(other_student, 79.0)
    page = page_of(as_member, student, quantity="tie_length")
    assert str(other_student) not in page
    assert "79.0" not in page
    assert "The whole studio" not in page


@pytest.mark.parametrize("asked", ["²", "9" * 40, "-1", "1.5"])
def test_a_term_that_cannot_be_does_not_exist(as_member, student, term, asked):
    assert as_member(student).get(student.to("lessons:term"), {"term": asked}).status_code == 404


@pytest.mark.parametrize("students", [1, 5])
def test_the_number_of_queries_does_not_grow_with_students(
    as_member, teacher, term, students, django_assert_max_num_queries
):
    for _ in range(students):
        member = make.student(studio=teacher.studio)
        for _ in range(3):
            measured(member, 72.0)
    client = as_member(teacher)
    with django_assert_max_num_queries(22):
        client.get(teacher.to("lessons:term"))


def ago(days):
    return timezone.now() - dt.timedelta(days=days)


def lived(student, days, ends):
    """A reed that came to play so many days ago: played out after five, noted after nine, or never noted."""
    steps = [("playing", days), ("played_out", days - 5)] if ends else [("playing", days)]
    reed = make.ReedFactory(owner=student, made_at=ago(days + 3), stage=steps[-1][0])
    for stage, at in steps:
        ReedEvent.objects.create(studio=reed.studio, reed=reed, kind="stage", to_stage=stage, at=ago(at))
    if ends is False:
        ReedEvent.objects.create(studio=reed.studio, reed=reed, kind="played", at=ago(days - 9))


def test_how_long_reeds_play_is_drawn_as_steps_with_those_still_playing(as_member, student, teacher, term):
    for ends in (True, True, False, True, False):
        lived(student, 20, ends)
    for page in (page_of(as_member, student), page_of(as_member, teacher)):
        # those of the key, then those of the picture, where two reeds still play
        assert page.count('class="steps"') == 2
        (still,) = re.findall(r'class="still" d="(M\d.*?)"', page)[1:]
        assert still.count("M") == 2
        assert "after 5 days" in page


@pytest.mark.parametrize(
    "ends", [(True, True), (True, False, False, False, False), (True, True, None, None, None)]
)
def test_few_reeds_or_few_ends_are_no_picture(as_member, student, term, ends):
    for one in ends:
        lived(student, 20, one)
    page = page_of(as_member, student)
    assert 'class="steps"' not in page
    assert f"{len(ends)} reeds of these weeks came to play: too few, or followed too briefly" in page


def test_students_with_nothing_to_draw_are_named_together(as_member, teacher, student, other_student, term):
    measured(student, 72.0)
    page = page_of(as_member, teacher)
    named = page.split("Nothing in these weeks:")[1].split("</p>")[0]
    assert str(other_student) in named
    assert str(student) not in named


def test_the_hand_is_drawn_reed_by_reed_with_what_is_usual_for_it(as_member, student, teacher, term):
    for place, value in enumerate([72.0, 72.2, 71.9, 72.1, 72.0, 71.8, 72.2, 72.0, 76.0]):
        measured(student, value, days=30 - place)
    for page in (page_of(as_member, student), page_of(as_member, teacher, student.pk)):
        assert "Tie length, reed by reed" in page
        drawn = page.split("Tie length, reed by reed")[1]
        (unlike,) = re.findall(r'class="without" d="(.*?)"', drawn)[1:]  # after the key's
        assert unlike.count("M") == 1
        assert '<td class="num">+4.0</td>' in drawn


def test_a_hand_of_few_reeds_is_not_drawn(as_member, student, term):
    for place in range(7):
        measured(student, 72.0, days=30 - place)
    assert "reed by reed" not in page_of(as_member, student)


def test_a_hand_that_never_varies_is_drawn(as_member, student, term):
    for place in range(9):
        measured(student, 72.5, days=30 - place)
    page = page_of(as_member, student)
    assert "of 9 reeds, this hand usually ties from +0.5 to +0.5" in page


def test_who_has_left_stands_in_the_term_in_which_they_were_there(as_member, teacher, student, term):
    gone = make.student(studio=teacher.studio)
    measured(gone, 72.0)
    Member.objects.filter(pk__in=[gone.pk, student.pk]).update(left_at=timezone.now())
    page = page_of(as_member, teacher)
    assert f"{gone} over the term: 1 number" in page
    assert str(student) not in page


def test_the_teacher_turns_from_student_to_student(as_member, teacher, term):
    first, middle, last = (
        make.student(studio=teacher.studio, person=make.PersonFactory(name=name)) for name in "ABC"
    )
    for one in (first, middle, last):
        measured(one, 72.0)
    page = page_of(as_member, teacher, middle.pk)
    before, after = (f'{teacher.to("lessons:term", one.pk)}?term={term.pk}"' for one in (first, last))
    assert f'{before} rel="prev"' in page
    assert f'{after} rel="next"' in page
    at_the_end = page_of(as_member, teacher, last.pk)
    assert 'rel="next"' not in at_the_end
    own = page_of(as_member, middle)
    assert "rel=" not in own.split("<main")[1].split("</main>")[0]


def test_what_is_said_of_a_student_stands_with_their_picture(
    as_member, teacher, student, other_student, term
):
    for place in range(12):
        measured(student, 73.0 + (place % 3) / 4, days=40 - 3 * place)
    measured(other_student, 72.0)
    page = page_of(as_member, teacher)
    above, _drawn, pictures = page.partition('id="drawn"')
    assert f'href="#student-{student.pk}"' in above
    assert "longer than the aim" not in above
    of_student = pictures.split(f'id="student-{student.pk}"')[1].split("</figure>")[0]
    assert "longer than the aim" in of_student
    assert "longer than the aim" not in pictures.replace(of_student, "")
