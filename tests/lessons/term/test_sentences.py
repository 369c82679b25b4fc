"""The sentences of a term from invented rows whose truth is known."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from lessons.term.lookback.questions import Page
from lessons.term.lookback.sentence import Manner, Topic, counted
from lessons.term.lookback.sentences import sentences, studio_sentences
from lessons.term.wording import in_words
from reeds.numbers.registry import QUANTITIES
from tests.lessons.term.invented_terms import ITEMS, Rows, Truth, term

PAGE = Page(QUANTITIES, {item: item for item in ITEMS}, runs=True)
OVER = replace(PAGE, runs=False)


def changes(rows, page=PAGE):
    return [one for one in sentences(rows, page).sentences if one.manner is Manner.CHANGE]


def words(said):
    return [in_words(one.text) for one in said]


@pytest.mark.parametrize("truth", [Truth(hand="heavy", alike=0.4), Truth(hand="skewed", buys_caliper=0.5)])
def test_where_nothing_changes_a_change_is_said_of_one_term_in_twenty_at_most(truth):
    assert sum(bool(changes(term(seed, truth))) for seed in range(200)) <= 10


def test_over_a_studio_where_nothing_changes_as_seldom():
    truth = Truth(hand="heavy", alike=0.4)
    said = [studio_sentences(term(seed, truth, 4), PAGE).sentences for seed in range(40)]
    assert sum(any(one.manner is Manner.CHANGE for one in of_it) for of_it in said) <= 2


def test_a_spread_that_falls_to_a_quarter_is_said_with_its_months():
    said = changes(term(1, Truth(spread_to=0.25, reeds=(48, 48))), OVER)
    even = [one for one in said if one.topic is Topic.EVENNESS]
    assert even
    assert all("even within" in one or "more evenly" in one for one in words(even))
    assert any("in November and December" in one for one in words(even))
    assert all("now" not in one for one in words(even))


def test_a_term_that_runs_says_now():
    assert any("now" in one for one in words(changes(term(1, Truth(spread_to=0.25, reeds=(48, 48))))))


def test_leaks_that_ended_are_said_with_both_counts():
    (said,) = [
        one
        for one in changes(term(5, Truth(leaks=(0.8, 0.0), reeds=(32, 32))))
        if one.topic is Topic.FINDING and one.about == "airtight"
    ]
    assert in_words(said.text).startswith("Leaks: ")
    assert in_words(said.text).endswith(", none since.")
    assert "reeds sent up to then, on none of the" in in_words(said.ground)


def test_a_hand_off_the_aim_is_asked_about_and_not_said_to_have_changed():
    said = sentences(term(2, Truth(off_aim=-0.9, reeds=(25, 25))), PAGE).sentences
    (offset,) = [one for one in said if one.topic is Topic.OFFSET and one.about == "tie_length"]
    assert "shorter than the aim" in in_words(offset.text)
    assert offset.offset < 0
    assert offset.manner is Manner.STATE


def test_ratings_that_rose_name_reeds_and_not_numbers_only():
    said = [
        one for one in changes(term(3, Truth(rating_rises=2.0, reeds=(48, 48)))) if one.topic is Topic.RATING
    ]
    assert said
    assert all("better" in one or "of the last" in one or "rated" in one for one in words(said))


def test_a_caliper_bought_in_the_term_steadies_no_hand():
    truth = Truth(buys_caliper=1.0, reeds=(25, 25), missing=0.0)
    said = [one for seed in range(40) for one in changes(term(seed, truth)) if one.topic is Topic.EVENNESS]
    assert len(said) <= 2


def test_every_sentence_says_of_how_many():
    for seed in range(12):
        truth = Truth(spread_to=0.3, off_aim=0.8, leaks=(0.8, 0.0), rating_rises=1.5, reeds=(40, 40))
        for one in sentences(term(seed, truth), PAGE).sentences:
            told = in_words(one.text) + in_words(one.ground)
            assert any(letter.isdigit() for letter in told), told
            assert "%(" not in told


def test_shuffled_rows_change_no_word():
    rows = term(9, Truth(leaks=(0.8, 0.0), off_aim=0.9, reeds=(32, 32)))
    rng = np.random.default_rng(1)

    def shuffled(them):
        return [them[place] for place in rng.permutation(len(them))]

    other = Rows(
        shuffled(rows.reeds),
        {key: shuffled(of_it) for key, of_it in rows.readings.items()},
        shuffled(rows.rated),
        shuffled(rows.found),
        shuffled(rows.first_sent),
    )
    said, again = sentences(rows, PAGE), sentences(other, PAGE)
    assert sorted(words(said.sentences)) == sorted(words(again.sentences))
    assert sorted(words(said.unsaid)) == sorted(words(again.unsaid))


def test_what_another_student_does_changes_no_sentence_of_a_students_own():
    alone = sentences(term(9, Truth(off_aim=0.9)), PAGE)
    both = sentences(term(9, Truth(off_aim=0.9), students=2), PAGE)
    assert words(alone.sentences) == words([one for one in both.sentences if one.student == 1])


def test_an_empty_term_and_one_reed_say_nothing_of_change():
    assert sentences(Rows(), PAGE).sentences == []
    assert studio_sentences(Rows(), PAGE).sentences == []
    assert changes(term(1, Truth(reeds=(1, 1), missing=0.0))) == []


def test_numbers_all_equal_say_nothing():
    rows = term(1, Truth(reeds=(20, 20), missing=0.0))
    rows.readings = {
        key: [row._replace(value=row.aim) for row in of_it] for key, of_it in rows.readings.items()
    }
    rows.rated = [row._replace(speaks=3) for row in rows.rated]
    assert changes(Rows(rows.reeds, rows.readings, rows.rated)) == []


def test_what_cannot_be_said_is_said():
    said = sentences(term(4, Truth(reeds=(10, 10), missing=0.0)), PAGE)
    told = words(said.unsaid)
    assert any("whether the hand works more evenly" in one for one in told)
    assert any("whether the reeds play better" in one for one in told)


def test_what_is_said_to_have_changed_has_no_cause_yet():
    told = words(sentences(term(5, Truth(leaks=(0.8, 0.0), reeds=(32, 32))), PAGE).unsaid)
    assert told[-1].startswith("Whether it was the hand that changed, or the cane")
    nothing = words(sentences(term(4, Truth(reeds=(10, 10))), PAGE).unsaid)
    assert not any("or the cane" in one for one in nothing)


def test_a_hand_that_steadied_in_all_is_told_by_how_much():
    grounds = [
        in_words(one.ground)
        for seed in range(12)
        for one in changes(term(seed, Truth(spread_to=0.3, reeds=(25, 25))))
        if one.topic is Topic.EVENNESS and not one.about
    ]
    assert grounds
    shares = [int(one.split("they lie ")[1].split(" %")[0]) for one in grounds]
    assert all(15 < share < 75 for share in shares)


def test_days_a_week_later_change_nothing_but_the_months():
    rows = term(5, Truth(leaks=(0.8, 0.0), off_aim=0.9, reeds=(32, 32)))
    week = dt.timedelta(days=7)
    later = Rows(
        [row._replace(made_at=row.made_at + week) for row in rows.reeds],
        {key: [row._replace(at=row.at + week) for row in of_it] for key, of_it in rows.readings.items()},
        [row._replace(at=row.at + week) for row in rows.rated],
        [row._replace(at=row.at + week) for row in rows.found],
        [row._replace(at=row.at + week) for row in rows.first_sent],
    )
    said, again = sentences(rows, PAGE).sentences, sentences(later, PAGE).sentences
    assert [(one.about, one.chance) for one in said] == [(one.about, one.chance) for one in again]


def test_findings_that_only_ask_for_a_number_are_no_findings():
    rows = term(5, Truth(leaks=(0.8, 0.0), reeds=(32, 32)))
    rows.found = [row._replace(outcome="missing") for row in rows.found]
    said = sentences(rows, PAGE, frozenset({"missing"})).sentences
    assert all(one.topic is not Topic.FINDING for one in said)


def test_counts_are_words_up_to_twelve():
    assert [counted(n) for n in (0, 1, 12, 13)] == ["none", "one", "twelve", "13"]


def test_what_one_student_changed_is_not_said_of_the_studio():
    rows, steadied = (
        term(11, Truth(reeds=(40, 40)), students=5),
        term(3, Truth(spread_to=0.1, reeds=(48, 48))),
    )
    for key, of_it in steadied.readings.items():
        rows.readings[key] += [row._replace(student=9, reed=row.reed + 90_000) for row in of_it]
    said = studio_sentences(rows, PAGE).sentences
    assert 9 in [one.student for one in said if one.topic is Topic.EVENNESS]
    assert None not in [one.student for one in said if one.topic is Topic.EVENNESS]


def test_what_all_its_students_changed_is_said_of_the_studio():
    said = studio_sentences(term(11, Truth(spread_to=0.3, reeds=(25, 25)), students=6), PAGE).sentences
    (one,) = [one for one in said if one.student is None and one.topic is Topic.EVENNESS]
    assert in_words(one.text).startswith("Over the studio the hands work more evenly now than in September")
    assert in_words(one.ground).startswith("Each of 6 students compared with themselves")


def test_after_a_term_nobody_is_told_to_tie_some_more_in_it():
    told = words(sentences(term(6, Truth(reeds=(60, 60), missing=0.0)), OVER).unsaid)
    assert told
    assert not any("more." in one for one in told)
