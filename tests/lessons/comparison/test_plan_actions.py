"""Planning a comparison: lots drawn once and kept, places taken, taken back, stopped."""

import datetime as dt
import uuid
from collections import Counter

import pytest
from django.db import IntegrityError, transaction

from lessons.comparison.actions import allot, note_not_kept, put_away, set_plan, stop, take_back
from lessons.comparison.inference.lots import lots
from lessons.comparison.models import Allotment, PlannedComparison, blanks_for
from reeds.numbers.words import Stage
from reeds.reed.actions import take_out
from studio.errors import NotPossible
from tests import factories as make
from tests.lessons.comparison.planned import blank, step

pytestmark = pytest.mark.django_db


def planned(teacher, *students, **given):
    return make.planned_comparison(teacher, list(students), **given)


def arms(plan, student):
    return list(plan.places.filter(student=student).order_by("place").values_list("arm", flat=True))


def test_lots_are_drawn_within_each_student_and_can_be_drawn_again(teacher, student, other_student):
    plan = planned(teacher, student, other_student, blanks_each=8)
    for one in (student, other_student):
        assert Counter(arms(plan, one)) == {0: 4, 1: 4}
        assert arms(plan, one) == lots(8, plan.seed, one.pk)


def test_two_plans_are_drawn_anew(teacher, student):
    seeds = {planned(teacher, student).seed for _plan in range(5)}
    assert len(seeds) == 5


def test_the_same_form_sent_twice_makes_one_plan(teacher, student):
    key = uuid.uuid4()
    first, second = (planned(teacher, student, key=key) for _click in range(2))
    assert first.pk == second.pk
    assert Allotment.objects.count() == 4


def test_blanks_that_are_there_take_their_places_at_once_by_number(teacher, student):
    reeds = [blank(student) for _reed in range(3)]
    plan = planned(teacher, student, with_blanks=True)
    taken = plan.places.exclude(reed=None).order_by("place")
    assert [place.reed for place in taken] == sorted(reeds, key=lambda reed: reed.number)
    assert planned(teacher, student).places.filter(reed__isnull=False).count() == 0


def test_a_blank_that_rests_too_long_already_or_is_elsewhere_cannot_take_a_place(teacher, student):
    fresh, old = blank(student, tied=0.5), blank(student, tied=9)
    scraped, model = blank(student), blank(student, is_model=True)
    step(scraped, Stage.SCRAPED, 0)
    other = planned(teacher, student)
    taken = blank(student)
    allot(other, taken)
    plan = planned(teacher, student)
    assert blanks_for(plan, student) == [fresh]
    for reed in (old, scraped, model, taken):
        with pytest.raises(NotPossible, match="cannot take a place"):
            allot(plan, reed)


def test_what_must_be_known_before_takes_only_blanks_made_since(teacher, student):
    blank(student)
    plan = planned(teacher, student, differs="staple", one="narrow", other="wide")
    assert blanks_for(plan, student) == []
    later = make.ReedFactory(owner=student)
    assert blanks_for(plan, student) == [later]


def test_a_blank_takes_the_first_empty_place_and_twice_is_once(teacher, student):
    plan, reed = planned(teacher, student), blank(student)
    assert allot(plan, reed).place == 1
    assert allot(plan, reed).place == 1
    assert allot(plan, blank(student)).place == 2
    assert plan.places.exclude(reed=None).count() == 2


def test_when_every_place_is_taken_there_is_none(teacher, student):
    plan = planned(teacher, student, blanks_each=2)
    for _reed in range(2):
        allot(plan, blank(student))
    with pytest.raises(NotPossible, match="taken already"):
        allot(plan, blank(student))


def test_another_students_reed_takes_no_place(teacher, student, other_student):
    plan = planned(teacher, student)
    with pytest.raises(NotPossible, match="Every place is taken"):
        allot(plan, blank(other_student))


def test_a_plan_that_is_over_takes_no_blank(teacher, student):
    plan, reed = planned(teacher, student), blank(student)
    PlannedComparison.objects.update(until=make.today() - dt.timedelta(days=2))
    with pytest.raises(NotPossible, match="is over"):
        allot(PlannedComparison.objects.get(pk=plan.pk), reed)


def test_a_plan_nothing_was_done_by_is_taken_back_and_its_blanks_are_free(teacher, student):
    reed, plan = blank(student), planned(teacher, student)
    allot(plan, reed)
    take_back(plan)
    assert not PlannedComparison.objects.standing().exists()
    assert blanks_for(planned(teacher, student), student) == [reed]
    take_back(plan)


def test_one_by_which_reeds_were_scraped_is_only_stopped(teacher, student):
    reed, plan = blank(student), planned(teacher, student)
    allot(plan, reed)
    step(reed, Stage.SCRAPED, 0)
    with pytest.raises(NotPossible, match="stop it instead"):
        take_back(plan)
    stop(plan, "  The cane is  used up. ")
    plan.refresh_from_db()
    assert (plan.is_over, plan.stopped_why) == (True, "The cane is used up.")
    assert list(PlannedComparison.objects.due()) == [plan]
    put_away(plan)
    assert not PlannedComparison.objects.due().exists()


def test_stopping_says_why_and_happens_once(teacher, student):
    plan = planned(teacher, student)
    with pytest.raises(NotPossible, match="Say why"):
        stop(plan, "  ")
    stop(plan, "first")
    stop(plan, "second")
    assert PlannedComparison.objects.get().stopped_why == "first"


def test_what_was_not_kept_to_is_noted_with_who(teacher, student):
    plan = planned(teacher, student)
    place = plan.places.get(place=1)
    with pytest.raises(NotPossible, match="No blank"):
        note_not_kept(place, student, "Scraped by mistake.")
    place = allot(plan, blank(student))
    note_not_kept(place, student, "Scraped by  mistake.")
    place.refresh_from_db()
    assert (place.not_kept_why, place.not_kept_by) == ("Scraped by mistake.", student)


def test_a_reed_taken_out_keeps_its_place_which_is_not_drawn_again(teacher, student):
    plan, reed = planned(teacher, student), blank(student)
    allot(plan, reed)
    take_out(reed)
    assert allot(plan, blank(student)).place == 2


def test_the_database_holds_a_reed_once_a_comparison(teacher, student):
    plan, reed = planned(teacher, student), blank(student)
    allot(plan, reed)
    with pytest.raises(IntegrityError), transaction.atomic():
        plan.places.filter(place=2).update(reed=reed)


def test_a_students_view_of_blanks_is_their_own(teacher, student, other_student):
    plan = set_plan(
        PlannedComparison(
            differs="other",
            one="soaked warm",
            other="soaked cold",
            outcome="played",
            blanks_each=2,
            until=make.today() + dt.timedelta(days=9),
        ),
        teacher,
        [student, other_student],
    )
    reed = blank(other_student)
    assert blanks_for(plan, student) == []
    assert blanks_for(plan, other_student) == [reed]
