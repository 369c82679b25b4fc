"""Plain rows of a term for the tests of its figures: what a test does not say is usual."""

from __future__ import annotations

import datetime as dt

from lessons.term.lookback.rows import (
    FoundInTerm,
    LifeInTerm,
    NotedInTerm,
    RatedInTerm,
    ReadingInTerm,
    ReedInTerm,
)

NOON = dt.datetime(2026, 10, 1, 12, tzinfo=dt.UTC)


def day(number):
    """Noon so many days after the first of October."""
    return NOON + dt.timedelta(days=number)


def reed(pk=1, **given):
    usual = {
        "reed": pk,
        "number": pk,
        "student": 1,
        "made_at": NOON,
        "furthest": "playing",
        "outcome": "played",
        "lot": None,
        "lot_label": "",
        "staple": "",
        "staple_length": 45.0,
        "shape": "",
        "flexibility": "medium",
        "rested_days": None,
        "sheet": 1,
    }
    return ReedInTerm(**usual | given)


def reading(value, **given):
    usual = {"reed": 1, "student": 1, "at": NOON, "u": 0.2, "low": 71, "aim": 72, "high": 73}
    usual |= {"method": "ruler", "stage": "tied", "by_teacher": False} | given
    return ReadingInTerm(value=value, number=usual["reed"], **usual)


def rated(speaks, **given):
    usual = {"reed": 1, "student": 1, "at": NOON, "item": "crow", "effort": None, "by_teacher": False} | given
    return RatedInTerm(speaks=speaks, number=usual["reed"], **usual)


def finding(reed, about="tie_length", outcome="above", **given):
    usual = {"number": reed, "student": 1, "at": NOON, "about": about, "outcome": outcome}
    return FoundInTerm(reed, **usual | given)


def noted(reed, word, **given):
    return NotedInTerm(reed, **{"number": reed, "student": 1, "at": NOON, "word": word} | given)


def life(days, *, plays=False, **given):
    """A reed that has played for so many days, and still plays or ended then."""
    usual = {"reed": 1, "number": 1, "student": 1, "played_from": NOON, "played_last": day(days)}
    usual |= {"ended_at": None if plays else day(days), "days_played": 1}
    return LifeInTerm(**usual | given)
