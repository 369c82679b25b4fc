"""The pages of planned comparisons: set by a teacher, gone through by a student, told when it is over."""

import datetime as dt
import re
import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from lessons.comparison.actions import allot, stop
from lessons.comparison.models import PlannedComparison
from reeds.numbers.words import Stage
from reeds.reed.actions import take_out
from reeds.reed.models.playing import PlayingTest, Rating
from reeds.reed.models.reed import EventKind, Reed
from studio.actions import end_membership
from tests import factories as make
from tests.lessons.comparison.planned import blank, days_ago, lived, step
from tests.lessons.comparison.test_ask_page import text_of

pytestmark = pytest.mark.django_db


def until(days=100):
    return make.today() + dt.timedelta(days=days)


def wanted(*students, **given):
    form = {"differs": "rest", "one": "1 night", "other": "8 weeks", "outcome": "played", "blanks_each": 4}
    form |= {"students": [one.pk for one in students], "until": until().isoformat(), "key": uuid.uuid4()}
    return form | given


def over(plan):
    PlannedComparison.objects.filter(pk=plan.pk).update(
        until=make.today() - dt.timedelta(days=1), made_at=timezone.now() - dt.timedelta(days=90)
    )
    Reed.objects.filter(allotments__plan=plan).update(made_at=timezone.now() - dt.timedelta(days=85))


def page_of(plan, member, as_member):
    return as_member(member).get(member.to("lessons:comparison", plan.pk))


# --- set --------------------------------------------------------------------------------------------


def test_a_teacher_sets_a_plan_and_the_same_click_twice_makes_one(teacher, student, as_member):
    client, form = as_member(teacher), wanted(student, with_blanks="on")
    blank(student)
    for _click in range(2):
        answer = client.post(teacher.to("lessons:comparison_new"), form, follow=True)
    plan = PlannedComparison.objects.get()
    assert (plan.one, plan.other, str(plan)) == ("1", "56", "rest 1 day or rest 8 weeks")
    assert "1 of 4 places are taken by a blank." in text_of(answer)
    assert str(plan) in text_of(client.get(teacher.to("lessons:comparisons")))


def test_a_teacher_is_told_what_a_plan_of_this_size_would_show(teacher, student, other_student, as_member):
    small = page_of(make.planned_comparison(teacher, [student]), teacher, as_member)
    large = page_of(
        make.planned_comparison(teacher, [student, other_student], blanks_each=24), teacher, as_member
    )
    often = [int(re.search(r"would show it (\d+) times in ten", text_of(page))[1]) for page in (small, large)]
    assert often[0] < 4 < often[1]


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ({"one": "a while"}, "Type a rest in days, nights or weeks"),
        ({"one": "0 days"}, "From one day to a year."),
        ({"one": "99 weeks"}, "From one day to a year."),
        ({"one": "56 days"}, "one and the same"),
        ({"until": until(30).isoformat()}, "the longer rest is not over"),
        ({"until": until(0).isoformat()}, "Choose a day to come"),
        ({"until": until(500).isoformat()}, "Choose a day to come"),
        ({"until": "soon"}, "Enter a valid date"),
        ({"blanks_each": 1}, "From two blanks"),
        ({"blanks_each": 99}, "From two blanks"),
        ({"blanks_each": "many"}, "Enter a whole number"),
        ({"students": []}, "This field is required"),
        ({"outcome": "won"}, "Select a valid choice"),
        ({"differs": "moon"}, "Select a valid choice"),
        ({"differs": "lot", "one": "gold", "other": "a bag"}, "No cane in use is called so"),
        ({"differs": "staple_length", "one": "4.6", "other": "47"}, "Did you mean 46"),
        ({"differs": "staple", "one": "Narrow", "other": "narrow"}, "one and the same"),
        ({"key": "x"}, "Enter a valid UUID"),
    ],
)
def test_bad_input_is_refused_with_a_sentence(teacher, student, as_member, given, sentence):
    make.CaneFactory(owner=teacher)
    answer = as_member(teacher).post(teacher.to("lessons:comparison_new"), wanted(student) | given)
    assert answer.status_code == 422
    assert sentence in text_of(answer)
    assert not PlannedComparison.objects.exists()


@pytest.mark.parametrize(
    ("given", "name"),
    [
        ({"differs": "lot", "one": "A BAG", "other": "another"}, "cane ‘a bag’ or cane ‘another’"),
        (
            {"differs": "staple_length", "one": "46,0", "other": "47 mm"},
            "a staple of 46 mm or a staple of 47 mm",
        ),
        (
            {"differs": "scrape_length", "one": "9", "other": "10.5"},
            "a scrape of 9 mm or a scrape of 10.5 mm",
        ),
        ({"differs": "shape", "one": "narrow", "other": "wide"}, "shape ‘narrow’ or shape ‘wide’"),
        ({"differs": "other", "one": "soaked warm", "other": "soaked cold"}, "soaked warm or soaked cold"),
        ({"one": "3 nights", "other": "3 weeks"}, "rest 3 days or rest 3 weeks"),
        ({"one": "3 Nächte", "other": "3 Wochen"}, "rest 3 days or rest 3 weeks"),
    ],
)
def test_what_differs_is_read_as_people_write_it(teacher, student, as_member, given, name):
    for label in ("a bag", "another"):
        make.CaneFactory(owner=teacher, label=label)
    as_member(teacher).post(teacher.to("lessons:comparison_new"), wanted(student) | given)
    assert str(PlannedComparison.objects.get()) == name


def test_only_a_teacher_plans_and_another_studios_student_is_no_choice(teacher, student, stranger, as_member):
    assert as_member(student).get(student.to("lessons:comparison_new")).status_code == 404
    other = make.student(studio=stranger.studio)
    answer = as_member(teacher).post(teacher.to("lessons:comparison_new"), wanted(other))
    assert answer.status_code == 422
    plan = make.planned_comparison(teacher, [student])
    for name in ("stop", "take_back", "put_away"):
        assert as_member(student).post(student.to(f"lessons:comparison_{name}", plan.pk)).status_code == 404


def test_another_studio_and_a_student_who_takes_no_part_see_nothing(
    teacher, student, other_student, stranger, as_member
):
    plan = make.planned_comparison(teacher, [student])
    for member in (other_student, stranger):
        assert page_of(plan, member, as_member).status_code == 404
        assert "rest 8 weeks" not in text_of(as_member(member).get(member.to("lessons:comparisons")))
        answer = as_member(member).post(member.to("lessons:comparison_blank", plan.pk), {"reed": 1})
        assert answer.status_code == 404


# --- gone through -----------------------------------------------------------------------------------


def test_what_is_drawn_is_told_when_a_blank_takes_its_place_and_not_before(teacher, student, as_member):
    plan, reed = make.planned_comparison(teacher, [student]), blank(student)
    before = text_of(page_of(plan, student, as_member))
    assert "The next place is for blank" in before
    assert "rest until" not in before
    assert "The next blank is to be" not in before
    answer = as_member(student).post(
        student.to("lessons:comparison_blank", plan.pk), {"reed": reed.pk}, follow=True
    )
    place = plan.places.get(place=1)
    due = timezone.now() + dt.timedelta(days=plan.amount(place.arm) - 0.2)
    due = due.astimezone(plan.studio.zone)  # its day, not UTC's
    assert f"is to rest until {due.day} {due:%B}" in text_of(answer)


def test_what_must_be_made_so_is_told_before(teacher, student, as_member):
    plan = make.planned_comparison(teacher, [student], differs="staple", one="narrow", other="wide")
    said = text_of(page_of(plan, student, as_member))
    assert f"The next blank is to be: {plan.places.get(place=1).way}." in said


def test_the_desk_reminds_the_student_of_each_blank(teacher, student, as_member):
    plan, reed = make.planned_comparison(teacher, [student], one="3"), blank(student)
    row = allot(plan, reed)
    client = as_member(student)
    said = text_of(client.get(student.to("lessons:desk")))
    assert "Compared with each other" in said
    assert "is to rest until" in said
    assert "3 blanks are still to take their places" in said
    days = plan.amount(row.arm)
    reed.events.filter(to_stage=Stage.TIED).update(at=timezone.now() - dt.timedelta(days=days + 0.5))
    assert "scrape it now" in text_of(client.get(student.to("lessons:desk")))
    step(reed, Stage.SCRAPED, 0)
    assert "scrape it now" not in text_of(client.get(student.to("lessons:desk")))


def test_the_desk_is_silent_where_nothing_is_planned_or_it_is_over(teacher, student, as_member):
    client = as_member(student)
    assert "Compared with each other" not in text_of(client.get(student.to("lessons:desk")))
    over(make.planned_comparison(teacher, [student]))
    assert "Compared with each other" not in text_of(client.get(student.to("lessons:desk")))


def test_a_reeds_own_page_tells_what_was_drawn_for_it(teacher, student, as_member):
    plan, reed = make.planned_comparison(teacher, [student]), blank(student)
    way = allot(plan, reed).way
    said = text_of(as_member(student).get(student.to("reeds:reed", reed.pk)))
    assert f"Drawn by lot: {way}" in said


@pytest.mark.parametrize("wrong", ["", "x", "999999"])
def test_a_blank_that_is_none_is_refused_with_a_sentence(teacher, student, as_member, wrong):
    plan = make.planned_comparison(teacher, [student])
    answer = as_member(student).post(student.to("lessons:comparison_blank", plan.pk), {"reed": wrong})
    assert answer.status_code == 422
    assert re.search("Choose a blank|cannot take a place", text_of(answer))


def test_a_student_gives_no_place_to_anothers_blank(teacher, student, other_student, as_member):
    plan, theirs = make.planned_comparison(teacher, [student, other_student]), blank(other_student)
    answer = as_member(student).post(student.to("lessons:comparison_blank", plan.pk), {"reed": theirs.pk})
    assert answer.status_code == 422
    assert not plan.places.exclude(reed=None).exists()
    as_member(teacher).post(teacher.to("lessons:comparison_blank", plan.pk), {"reed": theirs.pk})
    assert plan.places.get(student=other_student, place=1).reed == theirs


def test_a_student_notes_what_was_not_kept_to_of_their_own_alone(teacher, student, other_student, as_member):
    plan = make.planned_comparison(teacher, [student, other_student])
    row = allot(plan, blank(student))
    where = student.to("lessons:comparison_not_kept", row.pk)
    assert as_member(other_student).post(where, {"why": "no"}).status_code == 404
    assert as_member(student).post(where, {"why": " "}).status_code == 422
    answer = as_member(student).post(where, {"why": "It cracked, so I scraped it."}, follow=True)
    assert "not kept to: It cracked, so I scraped it." in text_of(answer)


def test_more_students_and_blanks_ask_no_more_of_the_database(teacher, as_member):
    def asked(many):
        students = [make.student(studio=teacher.studio) for _student in range(many)]
        plan = make.planned_comparison(teacher, students)
        for student in students:
            allot(plan, blank(student))
            blank(student)
        client = as_member(teacher)
        with CaptureQueriesContext(connection) as queries:
            assert client.get(teacher.to("lessons:comparison", plan.pk)).status_code == 200
        return len(queries)

    assert asked(2) == asked(6) < 25


# --- what happens meanwhile -------------------------------------------------------------------------


def test_a_student_who_leaves_leaves_empty_places_and_made_reeds(teacher, student, as_member):
    plan = make.planned_comparison(teacher, [student])
    allot(plan, blank(student))
    end_membership(student, teacher)
    said = text_of(page_of(plan, teacher, as_member))
    assert f"{student} has left the studio: 3 places stay empty, the reeds made count." in said


def test_a_blank_taken_out_counts_no_more(teacher, student, as_member):
    plan, reed = make.planned_comparison(teacher, [student]), blank(student)
    allot(plan, reed)
    take_out(reed)
    said = text_of(page_of(plan, teacher, as_member))
    assert "1 reed was taken out and counts no more" in said
    assert "taken out: it counts no more" in said


def test_taking_back_and_stopping_from_the_page(teacher, student, as_member):
    client, plan = as_member(teacher), make.planned_comparison(teacher, [student])
    reed = blank(student)
    allot(plan, reed)
    step(reed, Stage.SCRAPED, 0)
    answer = client.post(teacher.to("lessons:comparison_take_back", plan.pk))
    assert answer.status_code == 422
    assert "stop it instead" in text_of(answer)
    assert client.post(teacher.to("lessons:comparison_stop", plan.pk), {"why": ""}).status_code == 422
    answer = client.post(
        teacher.to("lessons:comparison_stop", plan.pk), {"why": "No cane left."}, follow=True
    )
    assert "No cane left." in text_of(answer)
    assert "It was stopped before its day" in text_of(answer)
    other = make.planned_comparison(teacher, [student])
    answer = client.post(teacher.to("lessons:comparison_take_back", other.pk), follow=True)
    assert "It was taken back before anything was done by it." in text_of(answer)


# --- what came of it --------------------------------------------------------------------------------


def long_plays(arm, _place):
    return arm == 1


def test_the_figures_are_told_when_the_day_has_come_and_to_the_teacher_alone(teacher, student, as_member):
    plan = make.planned_comparison(teacher, [student], blanks_each=12)
    lived(plan, student, long_plays)
    assert "What came of it" not in text_of(page_of(plan, teacher, as_member))
    assert "A comparison is over" not in text_of(as_member(teacher).get(teacher.to("lessons:queue")))
    over(plan)
    assert "A comparison is over" in text_of(as_member(teacher).get(teacher.to("lessons:queue")))
    said = text_of(page_of(plan, teacher, as_member))
    assert "It makes a difference." in said
    assert re.search(r"Of 100 reeds with ‘rest 8 weeks’ \d+ more came to play than with ‘rest 1 day’", said)
    assert "Every reed went the way that was drawn for it." in said
    theirs = text_of(page_of(plan, student, as_member))
    assert "Your teacher has what came of it." in theirs
    assert "It makes a difference" not in theirs


def test_when_it_was_read_it_stands_no_longer_among_what_is_due(teacher, student, as_member):
    plan, client = make.planned_comparison(teacher, [student]), as_member(teacher)
    over(plan)
    client.post(teacher.to("lessons:comparison_put_away", plan.pk))
    assert "A comparison is over" not in text_of(client.get(teacher.to("lessons:queue")))
    assert "I have read it" not in text_of(page_of(plan, teacher, as_member))


def test_as_drawn_comes_first_and_what_was_not_kept_to_stands_beside_it(teacher, student, as_member):
    plan = make.planned_comparison(teacher, [student], blanks_each=16)
    lived(plan, student, long_plays, early={1, 2, 3, 4})
    over(plan)
    said = text_of(page_of(plan, teacher, as_member))
    # of the first four places two were drawn to rest eight weeks: those were scraped early
    assert said.count("scraped early: rested 2 days, drawn was 8 weeks (rest 8 weeks)") >= 2
    assert said.index("As drawn, whether it was kept to or not") < said.index("Of the reeds that kept to it")
    assert "Of the 16 reeds of which both are known, 16 tell something." in said
    assert "Who kept to it was not drawn by lot" in said


def test_reeds_that_have_not_come_out_are_left_aside_and_said_so(teacher, student, as_member):
    plan = make.planned_comparison(teacher, [student])
    allot(plan, blank(student))
    over(plan)
    said = text_of(page_of(plan, teacher, as_member))
    assert "Not enough reeds yet" in said
    assert "1 reed has not come out yet and is left aside." in said


def test_one_given_up_before_it_was_scraped_counts_as_drawn_and_not_as_kept(teacher, student, as_member):
    plan = make.planned_comparison(teacher, [student])
    reed = blank(student)
    allot(plan, reed)
    step(reed, Stage.GIVEN_UP, 0)
    over(plan)
    said = text_of(page_of(plan, teacher, as_member))
    assert "given up before it was scraped" in said
    assert "not come out yet" not in said


def test_the_day_on_which_it_was_stopped_is_its_last(teacher, student, as_member):
    plan = make.planned_comparison(teacher, [student], blanks_each=8)
    lived(plan, student, long_plays)
    stop(plan, "Enough seen.")
    said = text_of(page_of(plan, teacher, as_member))
    assert "It was stopped before its day" in said
    assert re.search(r"‘rest 8 weeks’ \d+ more came to play", said)


def test_other_studios_change_nothing_of_a_report(teacher, student, stranger, as_member):
    plan = make.planned_comparison(teacher, [student], blanks_each=8)
    lived(plan, student, long_plays)
    over(plan)
    before = re.sub(r"\s+", " ", text_of(page_of(plan, teacher, as_member)))
    far = make.student(studio=stranger.studio)
    theirs = make.planned_comparison(stranger, [far], blanks_each=8)
    lived(theirs, far, lambda arm, _place: arm == 0)
    Reed.objects.filter(studio=stranger.studio).update(made_at=timezone.now() - dt.timedelta(days=85))
    assert re.sub(r"\s+", " ", text_of(page_of(plan, teacher, as_member))) == before


@pytest.mark.parametrize(
    ("outcome", "words"),
    [
        ("rating:staccato", r"in \d+ the one with ‘rest 8 weeks’ spoke better \(staccato on one note\)"),
        ("days", r"With ‘rest 8 weeks’ it was [\d.]+ more days played than with ‘rest 1 day’"),
    ],
)
def test_ratings_and_days_are_told_too(teacher, student, as_member, outcome, words):
    plan = make.planned_comparison(teacher, [student], blanks_each=12, outcome=outcome)
    reeds = lived(plan, student, lambda _arm, _place: True)
    for place, reed in enumerate(reeds):
        arm = plan.places.get(reed=reed).arm
        test = PlayingTest.objects.create(studio=reed.studio, reed=reed, at=days_ago(10))
        Rating.objects.create(studio=reed.studio, test=test, item="staccato", speaks=2 + 2 * arm + place % 2)
        for day in range(2 + 3 * arm + place % 2):
            step(reed, "", 9 - day, EventKind.PLAYED)
        step(reed, Stage.PLAYED_OUT, 1.5)
    over(plan)
    said = text_of(page_of(plan, teacher, as_member))
    assert "It makes a difference." in said
    assert re.search(words, said)
