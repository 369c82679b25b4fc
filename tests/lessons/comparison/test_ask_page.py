"""Ask of this term: a teacher's questions are kept, answered in words, and counted."""

import re

import pytest
from django.db import transaction

from lessons.comparison import actions
from lessons.comparison.actions import MOST_QUESTIONS
from lessons.comparison.models import AskedQuestion
from lessons.comparison.pages.ask import AskPage
from lessons.demo.truth import HELPED, INDIFFERENT
from studio.models import Person
from tests import factories as make
from tests.lessons.demo.finished import finished_term


@pytest.fixture(scope="module")
def made_once(once):
    return once(finished_term)


@pytest.fixture
def finished(made_once, anew):
    return anew(made_once)


def address(member, term=None):
    return member.to("lessons:ask") + (f"?term={term.pk}" if term else "")


def text_of(answer):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", "", answer.content.decode()))


def ask(client, finished, outcome="played", factor=("rest",), lot=""):
    where = address(finished.teacher, finished.term)
    return client.post(where, {"outcome": outcome, "factor": list(factor), "lot": lot}, follow=True)


def test_a_teacher_asks_and_reads_the_answer(finished, as_member):
    answer = ask(as_member(finished.teacher), finished, lot=HELPED.label)
    said = text_of(answer)
    assert "They go together." in said
    assert "makes a difference." not in said  # no lots were drawn
    assert "the one that rested longer came to play (" in said
    assert "What was asked" in said
    assert f"Asked by {finished.teacher}" in said
    question = AskedQuestion.objects.get()
    assert (question.term, question.by, question.lot) == (finished.term, finished.teacher, HELPED.label)


def test_where_nothing_is_true_it_says_so(finished, as_member):
    said = text_of(ask(as_member(finished.teacher), finished, lot=INDIFFERENT.label))
    assert "No difference that would matter." in said
    assert "They go together." not in said


def test_what_cannot_be_told_says_how_many_reeds_it_would_take(finished, as_member):
    said = text_of(ask(as_member(finished.teacher), finished, factor=["feel"]))
    assert "It cannot be told yet." in said
    assert re.search(r"About \d+ more reeds, half of either kind", said)


def test_picture_and_cells_stand_below_the_sentence(finished, as_member):
    page = ask(as_member(finished.teacher), finished, factor=["lot"]).content.decode()
    assert page.index('class="lead"') < page.index('class="compared"') < page.index("every cell")
    assert "<details" in page
    # every reed of which both are known stands in one cell
    cells = re.findall(r"<td class=\"num\">(\d+) of (\d+)</td>", page)
    known = re.search(r"both\s+are known of (\d+)", page)
    assert sum(int(n) for _yes, n in cells) == int(known[1])


def test_a_question_asked_twice_is_one_and_several_are_kept(finished, as_member):
    client = as_member(finished.teacher)
    ask(client, finished)
    ask(client, finished, factor=["rest", "staple_length", "feel"])
    assert AskedQuestion.objects.count() == 3
    assert "all 3 questions counted" in text_of(client.get(address(finished.teacher, finished.term)))


def test_each_further_question_makes_the_others_stricter(finished, as_member):
    client = as_member(finished.teacher)
    alone = text_of(ask(client, finished, factor=["lot"]))
    several = text_of(ask(client, finished, factor=["staple_length", "feel", "scrape_length"]))

    def often(said):
        return [int(found) for found in re.findall(r"as much in (\d+) of 1000", said)]

    assert often(several)[-1] >= 3 * often(alone)[0] > 0


def test_no_more_than_so_many_questions_are_taken(finished, as_member):
    client = as_member(finished.teacher)
    form = client.get(address(finished.teacher, finished.term)).context["form"]
    factors = [key for key, _label in form.fields["factor"].choices]
    outcomes = [key for key, _label in form.fields["outcome"].choices if not key.startswith("within")]
    for outcome in outcomes[: MOST_QUESTIONS // len(factors)]:
        ask(client, finished, outcome, factors)
    kept = AskedQuestion.objects.count()
    answer = ask(client, finished, outcomes[-1], factors)
    assert answer.status_code == 422
    assert f"No more than {MOST_QUESTIONS} questions" in text_of(answer)
    assert kept == AskedQuestion.objects.count() <= MOST_QUESTIONS
    # one that was asked already may be asked again
    assert ask(client, finished, outcomes[0], factors).status_code == 200


def test_every_outcome_and_factor_that_is_offered_can_be_told(finished, as_member):
    page = AskPage(finished.term, finished.teacher)
    for outcome in page.outcomes:
        with transaction.atomic():
            actions.ask(finished.term, finished.teacher, outcome, page.factors)
            shown = as_member(finished.teacher).get(address(finished.teacher, finished.term))
            assert shown.content.decode().count('class="lead"') == len(page.factors), outcome
            transaction.set_rollback(True)


def test_getting_the_page_asks_nothing(finished, as_member):
    where = address(finished.teacher, finished.term) + "&outcome=played&factor=rest"
    assert as_member(finished.teacher).get(where).status_code == 200
    assert not AskedQuestion.objects.exists()


def test_a_student_has_no_such_page_and_another_studio_no_such_term(finished, as_member, stranger):
    student = next(iter(finished.students.values()))
    assert as_member(student).get(address(student, finished.term)).status_code == 404
    assert as_member(student).post(address(student, finished.term), {}).status_code == 404
    assert as_member(stranger).get(address(stranger, finished.term)).status_code == 404
    assert as_member(stranger).get(address(finished.teacher, finished.term)).status_code == 404


def test_another_studios_reeds_and_questions_change_nothing(finished, as_member, stranger):
    client = as_member(finished.teacher)
    before = text_of(ask(client, finished))
    for student in finished.students.values():  # the other studio's are called the same
        Person.objects.filter(pk=student.person_id).update(username=f"first{student.pk}")
    other = finished_term(make.StudioFactory())
    ask(as_member(other.teacher), other, factor=["rest", "lot", "feel"])
    assert text_of(client.get(address(finished.teacher, finished.term))) == before


@pytest.mark.parametrize(
    ("sent", "sentence"),
    [
        ({"outcome": "played"}, "Choose at least one thing in which reeds differ."),
        ({"outcome": "won", "factor": ["rest"]}, "Select a valid choice"),
        ({"outcome": "played", "factor": ["luck"]}, "Select a valid choice"),
        ({"outcome": "played", "factor": ["rest"], "lot": "gold"}, "Select a valid choice"),
        ({"outcome": "played", "factor": ["lot"], "lot": HELPED.label}, "ask of all cane"),
        ({"outcome": "within:scrape_length", "factor": ["scrape_length"]}, "one and the same thing"),
        ({}, "This field is required."),
    ],
)
def test_bad_input_is_refused_with_a_sentence(finished, as_member, sent, sentence):
    answer = as_member(finished.teacher).post(address(finished.teacher, finished.term), sent)
    assert answer.status_code == 422
    assert sentence in text_of(answer)
    assert not AskedQuestion.objects.exists()


@pytest.mark.parametrize("wrong", ["x", "-1", "0", "9" * 30, "²"])
def test_a_term_that_is_none_is_not_found(teacher, as_member, wrong):
    assert as_member(teacher).get(address(teacher) + f"?term={wrong}").status_code == 404


def test_a_studio_without_terms_or_reeds_is_told_so(teacher, as_member):
    client = as_member(teacher)
    assert "No term has been named yet" in text_of(client.get(address(teacher)))
    term = make.TermFactory(studio=teacher.studio, starts_on="2026-01-01", ends_on="2026-06-30")
    said = text_of(client.get(address(teacher, term)))
    assert "Nothing can be asked yet" in said
    AskedQuestion.objects.create(studio=teacher.studio, term=term, outcome="played", factor="rest")
    assert "Nothing to compare any more" in text_of(client.get(address(teacher, term)))


def test_a_post_without_terms_or_reeds_keeps_nothing(teacher, as_member):
    client = as_member(teacher)
    assert client.post(address(teacher), {"outcome": "played", "factor": ["rest"]}).status_code == 200
    assert not AskedQuestion.objects.exists()


def test_the_term_page_leads_a_teacher_to_it_and_no_student(finished, as_member):
    where = finished.teacher.to("lessons:term") + f"?term={finished.term.pk}"
    link = address(finished.teacher, finished.term)
    assert link in as_member(finished.teacher).get(where).content.decode()
    student = next(iter(finished.students.values()))
    assert link not in as_member(student).get(where).content.decode()
