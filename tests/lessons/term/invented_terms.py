"""Invented terms whose truth is known, from hands that are not as the code takes them to be.

Tails are heavy or skewed, what is tied in one sitting is alike, rulers are read to half a millimetre,
numbers are missing, some buy a caliper in the middle of the term. Nothing here is taken from
`lessons.term.lookback`.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass, field

import numpy as np

from lessons.term.lookback.recurrence import SentInTerm
from lessons.term.lookback.rows import FoundInTerm, RatedInTerm, ReadingInTerm, ReedInTerm

STARTS = dt.datetime(2026, 9, 1, 15, tzinfo=dt.UTC)
DAYS = 105
AIMS = {"tie_length": 72.0, "thread_past_staple": 0.0, "scrape_length": 11.0, "tip_length": 2.5}
SPREADS = {"tie_length": 0.7, "thread_past_staple": 0.35, "scrape_length": 0.6, "tip_length": 0.4}
ITEMS = ("crow", "low_notes", "staccato", "third_octave", "tuning")
KINDS = (("airtight", "differs"), ("closing", "differs"), ("tie_length", "above"), ("tip_length", "above"))


@dataclass(frozen=True)
class Truth:
    """What holds in an invented term.

    `hand` names the shape of the deviations; `alike` is how much of their variance a sitting shares, and
    `wander` how much of that carries over to the next sitting. Changes come at a third of the term, for
    half, and fully at two.
    """

    hand: str = "normal"
    alike: float = 0.0
    wander: float = 0.0
    reeds: tuple[int, int] = (8, 25)
    buys_caliper: float = 0.2
    missing: float = 0.15
    off_aim: float | None = None
    spread_to: float = 1.0
    aim_moves: float = 0.0
    leaks: tuple[float, float] | None = None
    rating_rises: float = 0.0


@dataclass
class Rows:
    """The rows of an invented term, named as those of a real one."""

    reeds: list[ReedInTerm] = field(default_factory=list)
    readings: dict[str, list[ReadingInTerm]] = field(default_factory=lambda: defaultdict(list))
    rated: list[RatedInTerm] = field(default_factory=list)
    found: list[FoundInTerm] = field(default_factory=list)
    first_sent: list[SentInTerm] = field(default_factory=list)


def drawn(hand: str, rng: np.random.Generator, size: int) -> np.ndarray:
    """Return deviations with mean 0 and variance 1."""
    if hand == "heavy":
        return rng.standard_t(3, size) / np.sqrt(3)
    if hand == "skewed":
        return (rng.lognormal(0, 0.8, size) - np.exp(0.32)) / np.sqrt((np.exp(0.64) - 1) * np.exp(0.64))
    if hand == "slips":
        return np.where(rng.random(size) < 0.1, rng.normal(0, 2.5, size), rng.normal(0, 0.65, size))
    return rng.normal(0, 1, size)


def term(seed: int, truth: Truth, students: int = 1) -> Rows:
    """Return the rows of a term of so many students."""
    rows = Rows()
    for student in range(1, students + 1):
        _student(rows, student, truth, np.random.default_rng((seed, student)))
    return rows


def _student(rows: Rows, student: int, truth: Truth, rng: np.random.Generator) -> None:
    n = int(rng.integers(truth.reeds[0], truth.reeds[1] + 1))
    sizes = []
    while sum(sizes) < n:
        sizes.append(min(int(rng.geometric(0.6)), 4, n - sum(sizes)))
    days = np.sort(rng.choice(DAYS, len(sizes), replace=False))
    sitting = np.repeat(np.arange(len(sizes)), sizes)
    at = [STARTS + dt.timedelta(days=int(days[one]), minutes=int(place)) for place, one in enumerate(sitting)]
    gone = np.clip(np.floor(3 * np.arange(n) / n), 0, 2) / 2
    ids = [1000 * student + number for number in range(1, n + 1)]
    staples = rng.choice([45.0, 46.0], n)
    for place in range(n):
        rows.reeds.append(_reed(ids[place], place + 1, student, at[place], float(staples[place]), rng))
    _lengths(rows, (student, ids, at), (sitting, gone), truth, rng)
    _ratings(rows, (student, ids, at), (sitting, gone), truth, rng)
    _findings(rows, (student, ids, at), (sitting, gone), truth, rng)


def _reed(reed, number, student, at, staple, rng) -> ReedInTerm:
    outcome = str(rng.choice(["played", "given_up", "open"], p=[0.65, 0.2, 0.15]))
    return ReedInTerm(reed, number, student, at, "tied", outcome, 1, "", "", staple, "", "medium", None, 1)


def _shared(truth: Truth, sitting: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """What each sitting has in common, variance 1, carried over where it wanders."""
    out = [float(rng.normal())]
    for _ in range(int(sitting.max())):
        out.append(truth.wander * out[-1] + float(np.sqrt(1 - truth.wander**2) * rng.normal()))
    return np.array(out)[sitting]


def _lengths(rows, who, when, truth, rng) -> None:
    (student, ids, at), (sitting, gone) = who, when
    n = len(ids)
    caliper_from = rng.integers(0, n) if rng.random() < truth.buys_caliper else n
    usual = rng.normal(0, 0.4) if truth.off_aim is None else truth.off_aim
    for key, aim in AIMS.items():
        hand = np.sqrt(1 - truth.alike) * drawn(truth.hand, rng, n)
        hand = hand + np.sqrt(truth.alike) * _shared(truth, sitting, rng)
        spread = SPREADS[key] * truth.spread_to**gone * rng.uniform(0.7, 1.4)
        middle = (
            usual + truth.aim_moves * gone if key == "tie_length" else 0.3 * usual * (truth.off_aim is None)
        )
        true = aim + middle + spread * hand
        for place in np.flatnonzero(rng.random(n) >= truth.missing):
            grid, u, method = (0.5, 0.2, "ruler") if place < caliper_from else (0.05, 0.05, "caliper")
            read = round(float(true[place] + rng.normal(0, u / 2)) / grid) * grid
            row = (ids[place], int(place) + 1, student, at[place] + dt.timedelta(minutes=5), read, u)
            rows.readings[key].append(ReadingInTerm(*row, aim - 1, aim, aim + 1, method, "tied", False))


def _ratings(rows, who, when, truth, rng) -> None:
    (student, ids, at), (sitting, gone) = who, when
    n = len(ids)
    quality = rng.uniform(2.2, 3.8) + np.sqrt(1 - truth.alike) * rng.normal(0, 0.8, n)
    quality = quality + np.sqrt(truth.alike) * 0.8 * _shared(truth, sitting, rng) + truth.rating_rises * gone
    for place in np.flatnonzero(rng.random(n) < 0.7):
        played = at[place] + dt.timedelta(days=6 + int(rng.integers(0, 6)))
        for item in ITEMS:
            if rng.random() < 0.1:
                continue
            speaks = int(np.clip(round(float(quality[place] + rng.normal(0, 0.7))), 1, 5))
            row = (ids[place], int(place) + 1, student, played, item, speaks, None, False)
            rows.rated.append(RatedInTerm(*row))


def _findings(rows, who, when, truth, rng) -> None:
    (student, ids, at), (sitting, _gone) = who, when
    n = len(ids)
    sent = np.flatnonzero(rng.random(n) < 0.9)
    for place in sent:
        rows.first_sent.append(SentInTerm(ids[place], student, at[place] + dt.timedelta(hours=1)))
    for about, outcome in KINDS:
        often = np.full(n, rng.uniform(0.05, 0.6))
        if truth.leaks is not None and about == "airtight":
            often = np.where(np.arange(n) < n / 2, *truth.leaks)
        shared = _shared(truth, sitting, rng)
        likely = np.clip(often * (1 + truth.alike * shared), 0, 1) if truth.leaks is None else often
        for place in sent:
            if rng.random() < likely[place]:
                row = (ids[place], int(place) + 1, student, at[place] + dt.timedelta(hours=1), about, outcome)
                rows.found.append(FoundInTerm(*row))
