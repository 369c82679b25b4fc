"""What may be said of a term: in the reader's words, on the page, for whom."""

from __future__ import annotations

import datetime as dt

import pytest
from django.utils import timezone

from lessons.term.lookback.sentence import Phrase, When
from lessons.term.said import said_of
from lessons.term.wording import in_words, months
from reeds.numbers.words import gettext_noop as _
from reeds.reed.models.measurement import Measurement
from tests import factories as make

SEPTEMBER = dt.date(2026, 9, 3)


@pytest.fixture
def term(teacher):
    today = make.today()
    ends = today + dt.timedelta(days=40)
    return make.TermFactory(studio=teacher.studio, starts_on=today - dt.timedelta(days=60), ends_on=ends)


def tied(student, *values, days_apart=3):
    """Tie a reed a sitting, each so long; the last of them yesterday."""
    for place, value in enumerate(reversed(values)):
        at = timezone.now() - dt.timedelta(days=1 + days_apart * place)
        reed = make.ReedFactory(owner=student, made_at=at)
        Measurement.objects.create(
            studio=reed.studio,
            reed=reed,
            quantity="tie_length",
            value=value,
            u=0.2,
            method="ruler",
            stage="tied",
            at=at,
            by=student,
        )


def too_long(student):
    tied(student, *[73.0, 72.5, 73.5, 73.0, 73.0, 72.5, 73.0, 73.5, 73.0, 73.0, 72.5, 73.0])


def test_months_are_named_as_people_name_them():
    assert months(When(SEPTEMBER, SEPTEMBER)) == "in September"
    assert months(When(SEPTEMBER, dt.date(2026, 10, 1))) == "in September and October"
    assert months(When(SEPTEMBER, dt.date(2026, 12, 1))) == "from September to December"
    assert months(When(dt.date(2026, 12, 20), dt.date(2027, 1, 5))) == "in December and January"
    assert months(When(SEPTEMBER, SEPTEMBER, now=True)) == "now"


def test_a_phrase_within_a_phrase_does_not_begin_with_a_capital():
    within = Phrase(_("leaks"))
    assert in_words(Phrase("Comes back: %(what)s.", {"what": within})) == "Comes back: leaks."
    assert in_words(Phrase("%(what)s again.", {"what": within})) == "Leaks again."
    assert in_words(Phrase("")) == ""


def test_a_hand_that_ties_long_is_asked_about(term, teacher, student):
    too_long(student)
    offset = next(one for one in said_of(term, teacher, student).sentences if one.offset)
    words = in_words(offset.text)
    assert words.startswith("Ten of the last ten were tied 0.5 to 1.5 mm longer than the aim")
    assert words.endswith("an offset for this instrument, or the hand?")
    assert "12 reeds" in in_words(offset.ground)
    assert offset.offset == 1.0


def test_the_page_begins_with_it_and_offers_the_teacher_an_offset(as_member, term, teacher, student):
    too_long(student)
    page = as_member(teacher).get(teacher.to("lessons:term", student.pk)).text
    assert page.index("Ten of the last ten") < page.index("How this is reckoned")
    assert "?quantity=tie_length&amp;by=1.0" in page
    assert "Set an offset" in page


def test_the_student_reads_the_sentence_without_the_form(as_member, term, student):
    too_long(student)
    page = as_member(student).get(student.to("lessons:term")).text
    assert "Ten of the last ten" in page
    assert "Set an offset" not in page


def test_the_studio_page_says_it_of_its_student(as_member, term, teacher, student, other_student):
    too_long(student)
    tied(other_student, 72.0, 72.5)
    page = as_member(teacher).get(teacher.to("lessons:term")).text
    assert page.count("Ten of the last ten") == 1
    assert "Over so many students chance finds something" in page
    assert "No change that more than one student shows." in page


def test_with_few_reeds_the_page_says_how_many_more(as_member, term, student):
    tied(student, 72.0, 72.5, 72.0)
    page = as_member(student).get(student.to("lessons:term")).text
    assert "Not enough reeds yet to ask whether the hand works more evenly: about five more." in page


def test_with_more_it_says_how_large_a_change_would_show(as_member, term, student):
    tied(student, *[72.0, 72.5] * 7)
    page = as_member(student).get(student.to("lessons:term")).text
    assert "no change to be seen on 14 reeds, which show only a large one" in page


def test_the_link_fills_the_form_and_keeps_nothing(as_member, teacher, student):
    make.ReedFactory(owner=student)
    address = teacher.to("reeds:offsets", student.pk) + "?quantity=tie_length&by=1.0"
    page = as_member(teacher).get(address).text
    assert 'value="+1"' in page
    assert "Nothing: the sheet goes as it is." in page


@pytest.mark.parametrize("asked", ["quantity=nothing&by=1", "quantity=tie_length&by=40", "by=x"])
def test_a_link_that_asks_for_no_offset_is_refused_in_words(as_member, teacher, student, asked):
    make.ReedFactory(owner=student)
    page = as_member(teacher).get(teacher.to("reeds:offsets", student.pk) + f"?{asked}").text
    assert "What the link asks for is no offset" in page
    assert 'value="+' not in page


def sent_with(student, days_ago, **found):
    reed = make.ReedFactory(owner=student, made_at=timezone.now() - dt.timedelta(days=days_ago))
    sent = timezone.now() - dt.timedelta(days=days_ago)
    findings = [make.finding("differs", quantity="airtight", check="seen")] if found else []
    return make.SubmissionFactory(reed=reed, student=student, sent_at=sent, findings=findings)


def test_the_tables_tell_in_which_third_a_finding_was_there(as_member, teacher, student):
    today = make.today()
    starts = today - dt.timedelta(days=90)
    make.TermFactory(studio=teacher.studio, starts_on=starts, ends_on=today + dt.timedelta(days=1))
    for days_ago, leaks in (
        (85, True),
        (80, True),
        (75, False),
        (50, True),
        (45, False),
        (10, False),
        (5, False),
    ):
        sent_with(student, days_ago, **({"leaks": True} if leaks else {}))
    page = " ".join(as_member(student).get(student.to("lessons:term_reckoned")).text.split())
    assert "2 of 3, 1 of 2, 0 of 2" in page
    assert "not in the last" in page
    assert "100 %" in page
