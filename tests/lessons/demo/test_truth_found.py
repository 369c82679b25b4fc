"""What the pages find in the demo's finished term, against what is true of it: that, and nothing else."""

from __future__ import annotations

import pytest

from lessons.comparison.inference.compared import Verdict
from lessons.comparison.inference.several import holm
from lessons.comparison.pages.ask import AskPage
from lessons.comparison.pages.gathered import asked
from lessons.demo import truth
from lessons.demo.truth import HELPED, INDIFFERENT, MAKERS, STAYS, STEADIES, STOPS_LEAKING, TIES_LONG
from lessons.foretelling.pages import ForetellingPage
from lessons.term.lookback.evenness import evenness
from lessons.term.lookback.sentence import Topic
from lessons.term.pages import TermFigures
from lessons.term.said import said_of, said_of_studio
from lessons.term.wording import in_words
from tests.lessons.demo.claims import CLAIMS, ENDED, EVEN, claimed

BY_NAME = {maker.username: maker for maker in MAKERS}
hands = pytest.mark.parametrize("name", BY_NAME)


def of_hand(finished, maker):
    return said_of(finished.term, finished.teacher, finished.of(maker))


# --- sentences ------------------------------------------------------------------------------------


@hands
def test_of_each_hand_that_is_said_which_is_true_and_nothing_else(finished, name):
    said = claimed(of_hand(finished, BY_NAME[name]))
    assert {(one.topic, one.manner) for one in said} == CLAIMS[name]


def test_the_steady_hand_is_said_to_work_more_evenly_now(finished):
    (said,) = claimed(of_hand(finished, STEADIES))
    assert said.about in {"tie_length", "thread_past_staple", ""}
    assert "even within" in in_words(said.text)


def test_the_other_is_told_that_no_change_is_to_be_seen(finished):
    unsaid = [in_words(one.text) for one in of_hand(finished, STAYS).unsaid]
    assert any("whether the hand works more evenly" in one for one in unsaid)


def test_the_offset_is_offered_for_the_one_who_ties_long_on_every_staple(finished):
    (said,) = claimed(of_hand(finished, TIES_LONG))
    assert said.about == "tie_length"
    assert said.offset == pytest.approx(TIES_LONG.long, abs=0.25)
    assert "on every staple" in in_words(said.text)


def test_the_leaks_that_ended_are_said_to_have_ended(finished):
    (said,) = claimed(of_hand(finished, STOPS_LEAKING))
    assert said.about == "airtight"
    assert in_words(said.text).startswith("Leaks: ten")
    assert in_words(said.text).endswith("none since.")


def test_of_the_studio_no_more_is_said_than_of_its_hands(finished):
    allowed = {(finished.of(BY_NAME[name]).pk, *claim) for name, its in CLAIMS.items() for claim in its}
    # what one hand changed shows in the sum of all of them
    allowed |= {(None, *EVEN), (None, *ENDED)}
    said = claimed(said_of_studio(finished.term, finished.teacher))
    assert {(one.student, one.topic, one.manner) for one in said} <= allowed
    assert {one.about for one in said if one.topic is Topic.FINDING} == {"airtight"}


# --- figures --------------------------------------------------------------------------------------


@pytest.fixture
def figures(finished):
    def told(name=None):
        return TermFigures(finished.term, finished.teacher, finished.students[name] if name else None)

    return told


@hands
def test_the_hands_own_spread_is_the_declared_one_with_doubt_taken_out(figures, name):
    maker = BY_NAME[name]
    rows = {row.quantity.key: row.readings for row in figures(name).quantities}
    for key, declared in (("tie_length", maker.tie), ("thread_past_staple", maker.thread)):
        own = [one for one in rows[key] if not one.by_teacher][: truth.THIRDS * truth.REEDS_A_THIRD]
        it = evenness([one.value - one.aim for one in own], [one.u for one in own])
        assert it.first.low < declared[0] < it.first.high
        assert it.last.low < declared[2] < it.last.high
        if maker is STEADIES:
            assert it.last.high < it.first.own


@hands
def test_nothing_moves_with_time(figures, name):
    """Of many trends one or two would show by chance; the truth is so drawn that none does."""
    rows = [(row.quantity.key, row.moving.trend) for row in figures(name).quantities]
    rows += [(row.name, row.moving.trend) for row in figures(name).rated if row.moving]
    moved = [key for key, it in rows if it.p is not None and it.p < 0.05 / len(rows)]
    assert moved == []


@hands
def test_so_many_came_to_play_and_so_many_sets_were_done(figures, name):
    its = figures(name)
    played = sum(sum(lot.rested) + sum(lot.fresh) for lot in truth.LOTS)
    assert (its.came_to_play.share.count, its.came_to_play.open) == (played, truth.OPEN_EACH)
    assert its.came_to_play.share.n == truth.REEDS_EACH - truth.OPEN_EACH
    assert its.work.done.count == BY_NAME[name].work_done
    assert its.work.done.n == truth.WORK_SET


def test_reeds_last_as_declared_those_that_still_play_counted_as_that(figures):
    import lifelines

    its = figures().lasting
    played = sum(sum(lot.rested) + sum(lot.fresh) for lot in truth.LOTS)
    ended = [truth.LIVES_DAYS[at % len(truth.LIVES_DAYS)] for at in range(played - truth.STILL_PLAYING)]
    lives = [(days, 1) for days in ended * len(MAKERS)]
    still = truth.STILL_PLAYING * len(MAKERS)
    # the last reeds came to play weeks before today, and are played once a week since
    lives += [(10 * max(truth.LIVES_DAYS), 0)] * still
    theirs = lifelines.KaplanMeierFitter().fit(*zip(*lives, strict=True))
    assert (its.n, its.ended) == (len(lives), len(lives) - still)
    assert its.median == pytest.approx(theirs.median_survival_time_)


def test_teacher_and_player_read_and_rate_alike(figures):
    ((_title, rows),) = figures().read_twice
    (tie,) = [apart for quantity, apart in rows if quantity.key == "tie_length"]
    assert tie.n >= 30
    assert tie.bias_interval.low <= 0 <= tie.bias_interval.high
    for item in figures().heard_twice:
        assert item.alike.within_one.value == 1.0


# --- comparisons ----------------------------------------------------------------------------------


def test_rest_makes_a_difference_in_the_one_lot_and_none_that_would_matter_in_the_other(finished):
    page = AskPage(finished.term, finished.teacher)
    told = [
        asked(page.rows, page.outcomes["played"], page.factors["rest"], lot.label)
        for lot in (HELPED, INDIFFERENT)
    ]
    ps = holm([it.compared.p for it in told])
    assert [it.verdict(p) for it, p in zip(told, ps, strict=True)] == [Verdict.DIFFERS, Verdict.ALIKE]


def test_neither_staple_nor_shape_feel_nor_scrape_makes_a_difference(finished):
    page = AskPage(finished.term, finished.teacher)
    others = [factor for key, factor in page.factors.items() if key not in ("rest", "lot")]
    assert {factor.key for factor in others} >= {"staple_length", "shape", "feel", "scrape_length"}
    told = [asked(page.rows, page.outcomes["played"], factor) for factor in others]
    ps = holm([it.compared.p for it in told])
    assert Verdict.DIFFERS not in {it.verdict(p) for it, p in zip(told, ps, strict=True)}


# --- what a blank foretells -----------------------------------------------------------------------


def test_rest_alone_pulls_at_what_a_blank_foretells(finished):
    moment = ForetellingPage(finished.teacher).blanks
    assert moment.is_better
    assert {pull.about for row in moment.rows for pull in row.chance.pulls} == {"rested_days"}
