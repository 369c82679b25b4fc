"""What may be asked about: read off a term's plain rows."""

import datetime as dt
from types import SimpleNamespace

import pytest

from lessons.comparison.inference.compared import Measure
from lessons.comparison.pages.factors import factors
from lessons.comparison.pages.gathered import asked, third
from lessons.comparison.pages.outcomes import outcomes
from lessons.term.lookback.rows import (
    FoundInTerm,
    LifeInTerm,
    NotedInTerm,
    RatedInTerm,
    ReadingInTerm,
    ReedInTerm,
)
from reeds.numbers.registry import QUANTITIES

FIRST = dt.date(2026, 9, 1)
AT = dt.datetime(2026, 9, 1, 12, tzinfo=dt.UTC)
TERM = SimpleNamespace(starts_on=FIRST, ends_on=FIRST + dt.timedelta(days=89))


def reed(number, **given):
    plain = {
        "student": 1,
        "made_at": AT,
        "furthest": "playing",
        "outcome": "played",
        "lot": 5,
        "lot_label": "bag",
    }
    plain |= {"staple": "", "staple_length": 46.0, "shape": "", "flexibility": "unknown", "rested_days": None}
    return ReedInTerm(**{**plain, "reed": number, "number": number, "sheet": 1, **given})


def rows(*reeds, **given):
    nothing = {"lives": [], "rated": [], "found": [], "sent": frozenset(), "readings": {}, "noted": {}}
    return SimpleNamespace(**{"term": TERM, "known": QUANTITIES, "reeds": list(reeds), **nothing, **given})


def test_open_reeds_have_not_come_out():
    there = rows(reed(1), reed(2, outcome="given_up"), reed(3, outcome="open"))
    assert outcomes(there)["played"].values == {1: 1.0, 2: 0.0}


def test_days_count_of_reeds_that_play_no_more():
    lives = [LifeInTerm(1, 1, 1, AT, AT, AT, 12), LifeInTerm(2, 2, 1, AT, AT, None, 30)]
    days = outcomes(rows(reed(1), reed(2), lives=lives))["days"]
    assert (days.values, days.measure) == ({1: 12.0}, Measure.SHIFT)


def test_a_rating_is_the_last_one_and_effort_alone_is_none():
    rated = [RatedInTerm(1, 1, 1, AT, "staccato", speaks, None, False) for speaks in (2, 4)]
    rated.append(RatedInTerm(2, 2, 1, AT, "staccato", None, 3, False))
    assert outcomes(rows(reed(1), reed(2), rated=rated))["rating:staccato"].values == {1: 4.0}


def test_a_finding_did_not_come_of_the_reeds_that_were_sent():
    found = [FoundInTerm(1, 1, 1, AT, "tie_length", "above")]
    told = outcomes(rows(reed(1), reed(2), reed(3), found=found, sent=frozenset({1, 2})))
    assert told["without:tie_length:above"].values == {1: 0.0, 2: 1.0}


@pytest.mark.parametrize(("value", "inside"), [(70.9, 0.0), (71.0, 1.0), (73.0, 1.0), (73.1, 0.0)])
def test_within_limits_is_what_was_measured_last(value, inside):
    readings = [
        ReadingInTerm(1, 1, 1, AT, one, 0.1, 71.0, 72.0, 73.0, "ruler", "tied", False)
        for one in (60.0, value)
    ]
    assert outcomes(rows(reed(1), readings={"tie_length": readings}))["within:tie_length"].values == {
        1: inside
    }


def test_what_is_known_of_an_earlier_terms_reed_is_left_aside():
    rated = [RatedInTerm(9, 9, 1, AT, "staccato", 4, None, False)]
    assert "rating:staccato" not in outcomes(rows(reed(1), rated=rated))


def test_only_that_in_which_reeds_differ_is_a_factor():
    there = rows(reed(1, staple="Narrow "), reed(2, staple="narrow"), reed(3, staple="wide"), reed(4))
    found = factors(there)
    assert set(found) == {"staple"}
    assert found["staple"].values == {1: "Narrow", 2: "Narrow", 3: "wide"}


def test_rest_lengths_feel_and_notes_are_factors():
    noted = [NotedInTerm(1, 1, 1, AT, word) for word in ("lines", "further")]
    noted.append(NotedInTerm(2, 2, 1, AT, "lines"))
    length = [
        ReadingInTerm(n, n, 1, AT, 9.0 + n, 0.2, None, None, None, "ruler", "scraped", False) for n in (1, 2)
    ]
    first = reed(1, rested_days=3.0, flexibility="hard", staple_length=45.0)
    second = reed(2, rested_days=30.0, flexibility="flexible")
    there = rows(first, second, reed(3), noted={"grain_lines": noted}, readings={"scrape_length": length})
    found = factors(there)
    assert set(found) == {"rest", "staple_length", "feel", "scrape_length", "noted:grain_lines"}
    assert found["rest"].values == {1: 3.0, 2: 30.0}
    assert found["feel"].values == {1: "hard", 2: "flexible"}
    assert found["noted:grain_lines"].values == {1: "further than that", 2: "to the grain lines"}


@pytest.mark.parametrize(("day", "expected"), [(0, 0), (29, 0), (30, 1), (59, 1), (60, 2), (89, 2)])
def test_a_reed_stands_in_the_third_in_which_it_was_made(day, expected):
    assert third(reed(1, made_at=AT + dt.timedelta(days=day)), TERM) == expected


def test_reeds_are_compared_within_student_third_and_lot_and_lots_within_student_and_third():
    there = rows(
        reed(1, staple="a", lot=5, lot_label="bag"),
        reed(2, staple="b", lot=6, lot_label="sack"),
        reed(3, staple="b", student=2),
        reed(4, staple="a", made_at=AT + dt.timedelta(days=80)),
    )
    known, by = outcomes(there), factors(there)
    assert {case.stratum for case in asked(there, known["played"], by["staple"]).cases} == {
        (1, 0, 5),
        (1, 0, 6),
        (2, 0, 5),
        (1, 2, 5),
    }
    by_lot = asked(there, known["played"], by["lot"])
    assert {case.stratum for case in by_lot.cases} == {(1, 0, 0), (2, 0, 0), (1, 2, 0)}
    assert by_lot.compared.telling == 2
    alone = asked(there, known["played"], by["staple"], lot="sack")
    assert (len(alone.cases), alone.made) == (1, 1)
