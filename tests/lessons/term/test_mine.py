"""A student's own term: one sentence a thing, what the teacher wished, figures only where one asks."""

from __future__ import annotations

import datetime as dt

import pytest
from django.utils import timezone

from lessons.answering.models import Answer
from lessons.lesson.models import SetWork
from lessons.term.lookback.of_student import of_students
from lessons.term.lookback.sentence import Manner
from lessons.term.lookback.sentences import sentences
from lessons.term.lookback.steadier import each_length, too_coarse
from lessons.term.wording import in_words
from reeds.reed.models.reed import ReedEvent
from tests import factories as make
from tests.lessons.term.invented_terms import Truth, term
from tests.lessons.term.test_said import tied
from tests.lessons.term.test_sentences import PAGE

NONE = frozenset()


def of_each(rows, said=None):
    """What is told of each length of a term, `said` standing for what may be said of it."""
    (of,) = of_students(rows, NONE)
    return each_length(of, PAGE, sentences(rows, PAGE).sentences if said is None else said)


# --- one sentence a thing -------------------------------------------------------------------------


def test_what_became_steadier_comes_first_with_its_months_and_reeds():
    told = of_each(term(4, Truth(spread_to=0.25, reeds=(48, 48))))
    words = [in_words(one.text) for one in told]
    assert words[0].startswith("Steadier: your ")
    assert " mm now, " in words[0]
    assert " mm in September" in words[0] or " mm from September" in words[0]
    assert words[0].endswith(" reeds.")
    assert len({one.about for one in told}) == len(told) > 1


def test_without_a_change_each_is_not_yet_and_its_numbers_may_be_chance():
    rows = term(3, Truth(reeds=(20, 20)))
    told = of_each(rows)
    assert told
    assert all(one.manner is Manner.UNSAID for one in told)
    assert all(in_words(one.text).startswith("Not yet: ") for one in told)
    assert any("may still be chance" in in_words(one.text) for one in told)


def test_only_what_may_be_said_is_called_steadier():
    rows = term(4, Truth(spread_to=0.25, reeds=(48, 48)))
    words = [in_words(one.text) for one in of_each(rows, said=[])]
    assert any(one.startswith("Not yet: ") for one in words)
    assert not any("teady" in one for one in words)


def test_a_hand_that_became_less_steady_is_told_so():
    told = of_each(term(1, Truth(spread_to=4.0, reeds=(48, 48))))
    assert in_words(told[0].text).startswith("Less steady: your ")


def test_what_a_tool_cannot_tell_is_named_apart():
    rows = term(1, Truth(spread_to=0.25, reeds=(48, 48)))
    (of,) = of_students(rows, NONE)
    coarse = too_coarse(of, PAGE)
    assert "tie_length" in coarse
    assert not {one.about for one in of_each(rows)} & set(coarse)


def test_of_few_reeds_nothing_is_told():
    assert of_each(term(1, Truth(reeds=(7, 7)))) == []


# --- the page -------------------------------------------------------------------------------------


@pytest.fixture
def autumn(teacher):
    today = make.today()
    ends = today + dt.timedelta(days=40)
    return make.TermFactory(studio=teacher.studio, starts_on=today - dt.timedelta(days=60), ends_on=ends)


def answered(reed, teacher, step, days=1):
    at = timezone.now() - dt.timedelta(days=days)
    round_ = make.SubmissionFactory(reed=reed, sent_at=at, answered_at=at, round=1 + reed.submissions.count())
    return Answer.objects.create(
        studio=reed.studio, submission=round_, author=teacher, sent_at=at, next_step=step
    )


def page_of(as_member, who, *more):
    return as_member(who).get(who.to("lessons:term", *more)).text


def wished(page):
    return page.split('id="wished"')[1].split("</ul>")[0]


def test_a_student_reads_one_sentence_a_length_and_the_interval_only_folded(
    as_member, student, teacher, autumn
):
    tied(student, *[73.0, 72.5, 73.5, 73.0, 73.0, 72.5, 73.0, 73.5, 73.0, 73.0, 72.5, 73.0])
    page = page_of(as_member, student)
    above, _, folded = page.partition('id="in-pictures"')
    assert "Not yet: " in above
    assert "tie length" in above
    assert "4 and 4 reeds" in above
    assert "95 %" not in above.partition("What cannot be said")[0]
    assert "95 %" in folded
    for who in (teacher,):
        assert "your tie length" not in page_of(as_member, who, student.pk)


def test_the_last_wishes_stand_one_a_reed_what_is_open_first(as_member, student, teacher, autumn):
    reeds = [make.ReedFactory(owner=student, number=n, stage="scraped") for n in range(101, 106)]
    answered(reeds[0], teacher, "An old wish.", days=9)
    answered(reeds[0], teacher, "Wind it again.", days=2)
    done = answered(reeds[1], teacher, "Take a little off the tip.", days=1)
    ReedEvent.objects.create(studio=student.studio, reed=reeds[1], kind="clip", clip_mm=0.5, clip_u=0.1)
    answered(reeds[2], teacher, "Let it rest.", days=5)
    answered(reeds[3], teacher, "Before the term.", days=80)
    unsent = answered(reeds[4], teacher, "Not sent yet.")
    Answer.objects.filter(pk=unsent.pk).update(sent_at=None)
    SetWork.objects.create(studio=student.studio, student=student, words="Tie three blanks.")
    part = wished(page_of(as_member, student))
    steps = ["Wind it again.", "Let it rest.", "Take a little off the tip."]
    assert [part.index(step) for step in steps] == sorted(part.index(step) for step in steps)
    assert part.count("nothing noted since") == 2
    assert student.to("lessons:round", done.submission_id) in part
    assert "Tie three blanks." in part
    for absent in ("An old wish.", "Before the term.", "Not sent yet."):
        assert absent not in part


def test_nobody_elses_wishes_stand_there(as_member, student, other_student, teacher, autumn):
    make.SubmissionFactory(reed=make.ReedFactory(owner=student), sent_at=timezone.now())
    answered(make.ReedFactory(owner=other_student), teacher, "A fellow's step.")
    page = page_of(as_member, student)
    assert "A fellow's step." not in page
    assert 'id="wished"' not in page


def test_a_guardian_sees_the_term_as_before(as_member, student, teacher, autumn):
    student.under_age, student.guardian_consent_on = True, make.today()
    student.save()
    answered(make.ReedFactory(owner=student), teacher, "Wind it again.")
    page = page_of(as_member, make.guardian(student), student.pk)
    assert "your" not in page.partition('class="term-said"')[2].partition("</section>")[0].lower()
    assert 'id="wished"' not in page


def test_photos_and_takes_come_first_and_can_be_enlarged(as_member, student, autumn):
    made = timezone.now() - dt.timedelta(days=3)
    for number in (1, 2):
        reed = make.ReedFactory(owner=student, number=number, made_at=made + dt.timedelta(days=number))
        make.measured_photo(reed)
    page = page_of(as_member, student)
    first = page.partition("Steadier, or not yet")[0]
    assert first.count("data-enlarge data-width") == 2
    student.under_age, student.guardian_consent_withdrawn_at = True, timezone.now()
    student.save()
    assert "data-enlarge data-width" not in page_of(as_member, student)


def test_the_queries_do_not_grow(as_member, student, teacher, autumn, django_assert_max_num_queries):
    client = as_member(student)
    for number in (1, 8):
        for _ in range(number):
            answered(make.ReedFactory(owner=student), teacher, "Wind it again.")
        with django_assert_max_num_queries(20):
            client.get(student.to("lessons:term"))
