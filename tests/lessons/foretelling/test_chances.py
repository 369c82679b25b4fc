"""What may be foretold, and when nothing is."""

from __future__ import annotations

import numpy as np
import pytest

from lessons.foretelling.chances.columns import columns_for, scale_of, table
from lessons.foretelling.chances.foretelling import LEAST_OUTCOMES, Verdict, foretelling
from lessons.foretelling.chances.judged import judge, learn
from lessons.foretelling.chances.logistic import fit
from lessons.foretelling.chances.rows import Blank, Told
from tests.lessons.foretelling.worlds import world

STRONG = 1.2


def strong(seed=1, **given):
    return world(np.random.default_rng(seed), **{"students": 8, "each": 25, "strength": STRONG} | given)


def coming(**given):
    usual = {"tie": Told(0.0), "thread": Told(0.0), "gouge": Told(0.0), "airtight": True, "shape": "wide"}
    usual |= {"flexibility": "medium", "staple_length": 45.0, "rested_days": 7.0}
    return Blank(reed=1, number=1, student=0, **usual | given)


@pytest.fixture(scope="module")
def known():
    return strong()[0]


def test_thirty_nine_outcomes_say_nothing_and_forty_may(known):
    rows = [blank for at, blank in enumerate(known) if at % 5 == 0]
    assert len(rows) == LEAST_OUTCOMES
    less = foretelling(rows[1:], [coming()])
    assert (less.verdict, less.n, less.chances, less.judged) == (Verdict.TOO_FEW, 39, (), None)
    assert foretelling(rows, [coming()]).verdict in (Verdict.BETTER, Verdict.NO_BETTER)


def test_with_two_students_it_cannot_be_tried_on_one_it_has_not_seen():
    rows, _chances = strong(students=2, each=40)
    assert foretelling(rows, [coming()]).verdict is Verdict.UNSEEN


def test_where_it_is_no_better_it_gives_no_chance_and_names_nothing():
    rows, _chances = world(np.random.default_rng(5), students=8, each=25)
    told = foretelling(rows, [coming()])
    assert (told.verdict, told.chances, told.abouts) == (Verdict.NO_BETTER, (), ())
    assert told.n == 200
    assert told.played == sum(blank.plays for blank in rows)


def test_rest_pulls_up_and_a_leak_pulls_down(known):
    good, bad = foretelling(
        known, [coming(rested_days=30.0), coming(rested_days=0.6, airtight=False, tie=Told(1.3))]
    ).chances
    assert good.value > 0.75 > 0.35 > bad.value
    assert {one.about for one in good.pulls if one.log_odds > 0} >= {"rested_days", "tie"}
    assert {one.about for one in bad.pulls if one.log_odds < 0} >= {"rested_days", "airtight"}
    assert not [one for one in bad.pulls if one.log_odds > 0]
    assert good.low < good.value < good.high


def test_what_is_not_noted_is_said_and_makes_more_doubt(known):
    whole, part = foretelling(known, [coming(), coming(airtight=None, rested_days=None)]).chances
    assert whole.unknown == ()
    assert part.unknown == ("airtight", "rested_days")
    assert not {"airtight", "rested_days"} & {one.about for one in part.pulls}
    assert part.high - part.low > whole.high - whole.low


def test_beyond_what_was_seen_is_the_farthest_that_was_seen(known):
    weeks, years = foretelling(known, [coming(rested_days=40.0), coming(rested_days=4000.0)]).chances
    assert years.value == pytest.approx(weeks.value, abs=0.01)


def test_a_student_nobody_knows_is_in_more_doubt(known):
    seen, new = foretelling(known, [coming(), coming()._replace(student=99)]).chances
    assert new.high - new.low > seen.high - seen.low


def test_the_order_of_rows_and_the_names_of_students_change_nothing(known):
    told = foretelling(known, [coming()])
    shuffled = [known[at] for at in np.random.default_rng(3).permutation(len(known))]
    renamed = [blank._replace(student=-7 * blank.student) for blank in shuffled]
    again = foretelling(renamed, [coming()])
    assert again.chances[0].value == pytest.approx(told.chances[0].value, abs=1e-9)
    assert again.judged.low == pytest.approx(told.judged.low, abs=1e-9)


def test_a_column_too_few_know_or_that_never_varies_is_left_out():
    rows, _chances = world(np.random.default_rng(2), missing=0.0)
    rows = [blank._replace(gouge=None) if at > 15 else blank for at, blank in enumerate(rows)]
    columns = columns_for(rows)
    used = {columns[place].about for place in scale_of(table(rows, columns)).used}
    assert used == {"tie", "thread", "airtight", "flexibility", "rested_days", "shape"}


def test_a_studio_in_which_all_came_to_play_is_told_only_that():
    rows = [blank._replace(plays=True) for blank in strong()[0]]
    told = foretelling(rows, [coming()])
    assert (told.verdict, told.played) == (Verdict.NO_BETTER, 200)


def test_a_reed_without_an_outcome_teaches_nothing():
    with pytest.raises(ValueError, match="outcome"):
        foretelling([coming()], [])


def test_the_first_playing_test_counts_only_where_it_is_asked_for(known):
    rows = [blank._replace(speaks=4.0 if blank.plays else 2.0, effort=3.0) for blank in known]
    spoke = coming(speaks=4.0, effort=3.0)
    before = foretelling(rows, [spoke], tried=False)
    tried = foretelling(rows, [spoke], tried=True)
    assert "speaks" not in before.abouts
    assert before.chances == foretelling(known, [spoke]).chances
    assert "speaks" in tried.abouts
    assert "speaks" in {one.about for one in tried.chances[0].pulls}


def test_each_group_of_chances_holds_a_fifth_of_the_reeds_and_all_of_them_are_there(known):
    rows = table(known, columns_for(known))
    judged = judge(rows, learn(rows))
    assert [group.n for group in judged.groups] == [40] * 5
    assert sum(group.played for group in judged.groups) == sum(blank.plays for blank in known)
    foretold = [group.foretold for group in judged.groups]
    assert foretold == sorted(foretold)


def test_each_students_reeds_are_foretold_from_the_others_alone(known):
    """What became of a student's own reeds moves nothing that is foretold of them."""
    rows = table(known, columns_for(known))
    learnt = learn(rows)
    turned = [blank._replace(plays=not blank.plays) if blank.student == 3 else blank for blank in known]
    chances = [
        fit(x[~own], told.plays[~own], told.students[~own], *learnt.fitted.without(3)).log_odds(
            x[own], doubt[own], told.students[own]
        )[0]
        for told in (rows, table(turned, rows.columns))
        for x, doubt in [learnt.scale.standard(told)]
        for own in [told.students == 3]
    ]
    assert chances[0] == pytest.approx(chances[1])
    before, after = judge(rows, learnt), judge(table(turned, rows.columns), learnt)
    assert after.gain < before.gain


def test_a_world_without_signal_says_the_share_in_nineteen_of_twenty():
    rng = np.random.default_rng(11)
    worlds = [(int(rng.integers(3, 9)), int(rng.integers(14, 25))) for _ in range(200)]
    better = sum(
        foretelling(world(rng, students=s, each=n, sd_student=0.8)[0], []).verdict is Verdict.BETTER
        for s, n in worlds
    )
    assert better <= 10


def test_a_world_with_signal_is_foretold_and_its_chances_hold():
    """With eight students of thirty reeds: nearly always seen, and what was foretold is what came."""
    rng = np.random.default_rng(12)
    better, off = 0, []
    for _ in range(25):
        told = foretelling(world(rng, students=8, each=30, strength=0.8)[0], [])
        better += told.verdict is Verdict.BETTER
        off += [group.foretold - group.played / group.n for group in told.judged.groups]
    assert better >= 22
    assert abs(np.mean(off)) < 0.02
    assert np.sqrt(np.mean(np.square(off))) < 0.12


def test_an_interval_holds_the_true_chance_in_nineteen_of_twenty():
    """Of new reeds of known students; the accuracy run says it for more worlds."""
    rng = np.random.default_rng(13)
    held = []
    for _ in range(25):
        rows, chances = world(rng, students=8, each=33, strength=0.8)
        new = [at for at, blank in enumerate(rows) if blank.number >= 30]
        told = foretelling(
            [blank for blank in rows if blank.number < 30], [rows[at]._replace(plays=None) for at in new]
        )
        held += [
            chance.low <= true <= chance.high
            for chance, true in zip(told.chances, chances[new], strict=False)
        ]
    assert len(held) > 400
    assert np.mean(held) >= 0.92
