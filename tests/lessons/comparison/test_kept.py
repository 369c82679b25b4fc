"""Whether a reed went the way drawn for it: kept to, not kept to or not known, for all that can differ."""

import datetime as dt

import pytest
from django.utils import timezone

from lessons.comparison.actions import allot, note_not_kept
from lessons.comparison.models import Allotment
from lessons.comparison.pages.kept import State, place
from lessons.comparison.pages.plan import with_reeds
from reeds.numbers.words import Stage
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.reed import EventKind, Reed, ReedEvent
from tests import factories as make
from tests.lessons.comparison.planned import blank, days_ago, step

pytestmark = pytest.mark.django_db


@pytest.fixture
def stands(teacher):
    """Return a function that says how it stands with a reed's place."""

    def told(reed):
        rows = with_reeds(Allotment.objects.visible_to(teacher), teacher)
        found = place(rows.get(reed=reed))
        return found.state, found.says

    return told


def allotted(teacher, student, arm, **given):
    """A blank whose place was drawn for the one way (0) or the other (1)."""
    plan = make.planned_comparison(teacher, [student], **given)
    plan.places.filter(student=student).update(arm=arm)
    reed = blank(student)
    if plan.is_ahead:
        Reed.objects.filter(pk=reed.pk).update(made_at=timezone.now())
    allot(plan, reed)
    return reed


def tied(reed, ago):
    ReedEvent.objects.filter(reed=reed, to_stage=Stage.TIED).update(at=days_ago(ago))


@pytest.mark.parametrize(
    ("arm", "days", "state", "words"),
    [
        (0, 0.5, State.KEPT, "rested 12 hours, drawn was 1 day"),
        (0, 0.1, State.NOT_KEPT, "scraped early"),
        (0, 2.9, State.KEPT, "rested 2 days"),
        (0, 3.5, State.NOT_KEPT, "scraped late"),
        (1, 56, State.KEPT, "rested 8 weeks, drawn was 8 weeks"),
        (1, 51, State.KEPT, "rested 7 weeks"),
        (1, 50, State.NOT_KEPT, "scraped early: rested 7 weeks, drawn was 8 weeks"),
        (1, 69, State.KEPT, "rested 9 weeks"),
        (1, 71, State.NOT_KEPT, "scraped late"),
    ],
)
def test_a_rest_is_kept_to_within_a_tenth_or_so(teacher, student, stands, arm, days, state, words):
    reed = allotted(teacher, student, arm)
    tied(reed, days + 1)
    step(reed, Stage.SCRAPED, 1)
    found, says = stands(reed)
    assert found is state
    assert words in says


@pytest.mark.parametrize(
    ("days", "state", "words"),
    [
        (10, State.UNDER_WAY, "is to rest until"),
        (57, State.UNDER_WAY, "has rested its 8 weeks: scrape it now"),
        (80, State.NOT_KEPT, "rests longer than it was to (8 weeks)"),
    ],
)
def test_a_blank_at_rest_is_told_until_when(teacher, student, stands, days, state, words):
    reed = allotted(teacher, student, 1)
    tied(reed, days)
    found, says = stands(reed)
    assert (found, words in says) == (state, True), says


def test_the_day_until_which_it_rests_is_that_of_the_studios_clock(teacher, student, stands):
    reed = allotted(teacher, student, 1)
    tied(reed, 10)
    until = timezone.localtime(days_ago(10) + dt.timedelta(days=56))
    assert stands(reed)[1].endswith(f"{until.day} {until:%B}")


def test_one_not_tied_yet_rests_once_it_is(teacher, student, stands):
    reed = allotted(teacher, student, 1)
    ReedEvent.objects.filter(reed=reed).delete()
    Reed.objects.filter(pk=reed.pk).update(stage=Stage.SHAPED)
    assert stands(reed) == (State.UNDER_WAY, "is to rest 8 weeks, once it is tied")


def test_of_one_whose_tying_was_not_noted_the_rest_is_not_known(teacher, student, stands):
    reed = allotted(teacher, student, 1)
    ReedEvent.objects.filter(reed=reed).delete()
    step(reed, Stage.SCRAPED, 0)
    assert stands(reed) == (State.UNDER_WAY, "its rest is not known")


def scrape(reed, value):
    Measurement.objects.create(
        studio=reed.studio,
        reed=reed,
        quantity="scrape_length",
        value=value,
        u=0.2,
        method="ruler",
        stage="scraped",
    )


def test_a_scrape_is_what_was_measured_last(teacher, student, stands):
    reed = allotted(teacher, student, 0, differs="scrape_length", one="9", other="11")
    assert stands(reed) == (State.UNDER_WAY, "is to get a scrape of 9 mm")
    scrape(reed, 10.6)
    assert stands(reed) == (State.NOT_KEPT, "was to get a scrape of 9 mm, has 10.6 mm")
    scrape(reed, 9.4)
    assert stands(reed) == (State.KEPT, "a scrape of 9 mm")


@pytest.mark.parametrize(
    ("differs", "one", "made"),
    [
        ("staple", "narrow", {"staple": "Narrow"}),
        ("shape", "narrow", {"shape": "narrow"}),
        ("staple_length", "46", {"staple_length": 46.0}),
    ],
)
def test_what_it_is_made_of_is_what_was_noted(teacher, student, stands, differs, one, made):
    reed = allotted(teacher, student, 0, differs=differs, one=one, other="47")
    nothing = {"staple": "", "shape": "", "staple_length": None}
    Reed.objects.filter(pk=reed.pk).update(**nothing)
    state, says = stands(reed)
    assert (state, "not noted of the reed yet" in says) == (State.UNDER_WAY, True)
    Reed.objects.filter(pk=reed.pk).update(**made)
    assert stands(reed)[0] is State.KEPT
    Reed.objects.filter(pk=reed.pk).update(**{differs: 48.0 if differs == "staple_length" else "wide"})
    state, says = stands(reed)
    assert (state, says.startswith("was to be")) == (State.NOT_KEPT, True)


def test_its_cane_is_the_lot_it_is_made_of(teacher, student, stands):
    first, second = (make.CaneFactory(owner=student, label=label) for label in ("first bag", "second bag"))
    reed = allotted(teacher, student, 0, differs="lot", one="first bag", other="second bag")
    Reed.objects.filter(pk=reed.pk).update(cane=first)
    assert stands(reed) == (State.KEPT, "cane ‘first bag’")
    Reed.objects.filter(pk=reed.pk).update(cane=second)
    assert stands(reed) == (State.NOT_KEPT, "was to be cane ‘first bag’, is ‘second bag’")


def test_what_is_told_in_words_is_kept_to_unless_somebody_says_otherwise(teacher, student, stands):
    reed = allotted(teacher, student, 1, differs="other", one="soaked warm", other="soaked cold")
    assert stands(reed) == (State.UNDER_WAY, "soaked cold")
    step(reed, Stage.SCRAPED, 0)
    assert stands(reed) == (State.KEPT, "soaked cold")
    note_not_kept(Allotment.objects.get(reed=reed), student, "The water was warm.")
    assert stands(reed) == (State.NOT_KEPT, "The water was warm.")


def test_one_given_up_or_taken_out_before(teacher, student, stands):
    reed, gone = allotted(teacher, student, 0), allotted(teacher, student, 0)
    step(reed, Stage.GIVEN_UP, 0, EventKind.GIVEN_UP)
    assert stands(reed) == (State.NOT_KEPT, "given up before it was scraped")
    Reed.objects.filter(pk=gone.pk).update(taken_out_at=timezone.now())
    assert stands(gone) == (State.OUT, "taken out: it counts no more")


def test_a_place_without_a_blank_says_whether_one_may_still_come(teacher, student):
    plan = make.planned_comparison(teacher, [student])
    rows = with_reeds(Allotment.objects.visible_to(teacher), teacher).filter(plan=plan)
    assert {place(row).says for row in rows.all()} == {"no blank yet"}
    student.left_at = timezone.now()
    student.save()
    assert {place(row).says for row in rows.all()} == {"stays empty: has left the studio"}
