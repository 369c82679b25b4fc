"""Measures what a term's sentences are worth: how often a change is said that is none, and what is seen.

Run `python -m tests.accuracy.term 2000`: so many terms without any change, of each kind of hand; a tenth as
many of each change that matters and number of reeds. The terms come from `tests.lessons.term.invented_terms`,
whose hands are not as the code takes them to be. The exit status is 1 where a row with a bound falls short.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from lessons.term.lookback.evenness import in_thirds, kurtosis, spreading
from lessons.term.lookback.questions import Page
from lessons.term.lookback.sentence import Manner, Sentence, Topic
from lessons.term.lookback.sentences import sentences, studio_sentences
from reeds.numbers.registry import QUANTITIES
from tests.lessons.term.invented_terms import Truth, drawn, term

PAGE = Page(QUANTITIES, {}, runs=True)
FALSE_IN, COVERS = 0.05, 0.9
STUDENTS = 6

# nothing changes in any of them; the last breaks what the code takes for granted, and is reported
UNCHANGED = {
    "normal hands": Truth(),
    "heavy tails, sittings alike": Truth(hand="heavy", alike=0.4),
    "skewed hands, sittings alike": Truth(hand="skewed", alike=0.4),
    "hands that slip one time in ten": Truth(hand="slips", alike=0.3),
    "every second buys a caliper": Truth(buys_caliper=0.5, alike=0.3),
    "a third of the numbers missing": Truth(missing=0.33, alike=0.3),
}
WANDERING = {"sittings carry over to the next (0.6)": Truth(alike=0.4, wander=0.6)}

REEDS = (8, 12, 16, 20, 25, 32, 48)
Seen = Callable[[Sentence], bool]


def speaks_of(topic: Topic, about: str = "", manner: Manner = Manner.CHANGE) -> Seen:
    return lambda one: one.topic is topic and one.manner is manner and (not about or one.about == about)


CHANGED: dict[str, tuple[Truth, Seen]] = {
    "spread of all lengths halves": (Truth(spread_to=0.5), speaks_of(Topic.EVENNESS)),
    "spread of all lengths falls to a third": (Truth(spread_to=1 / 3), speaks_of(Topic.EVENNESS)),
    "tied 0.7 mm off the aim": (Truth(off_aim=0.7), speaks_of(Topic.OFFSET, "tie_length", Manner.STATE)),
    "the aim of the tie moves by 0.7 mm": (Truth(aim_moves=0.7), speaks_of(Topic.AIM, "tie_length")),
    "the aim of the tie moves by 1.4 mm": (Truth(aim_moves=1.4), speaks_of(Topic.AIM, "tie_length")),
    "leaks, from half of the reeds to none": (Truth(leaks=(0.5, 0.0)), speaks_of(Topic.FINDING, "airtight")),
    "leaks, from 8 in 10 to none": (Truth(leaks=(0.8, 0.0)), speaks_of(Topic.FINDING, "airtight")),
    "ratings one step higher": (Truth(rating_rises=1.0), speaks_of(Topic.RATING)),
}


def changes(seed: int, truth: Truth) -> list[Sentence]:
    """The sentences of change of one term of one student."""
    said = sentences(term(seed, truth), PAGE).sentences
    return [one for one in said if one.manner is Manner.CHANGE]


def falsely(truth: Truth, terms: int) -> float:
    """The share of terms without any change of which a change is said."""
    return sum(bool(changes(seed, truth)) for seed in range(terms)) / terms


def falsely_of_studios(truth: Truth, studios: int) -> float:
    said = (studio_sentences(term(seed, truth, STUDENTS), PAGE).sentences for seed in range(studios))
    return sum(any(one.manner is Manner.CHANGE for one in of_it) for of_it in said) / studios


def seen(truth: Truth, is_it: Seen, reeds: int, terms: int) -> float:
    """The share of terms of so many reeds in which the change is said."""
    it = replace(truth, reeds=(reeds, reeds), alike=0.2)
    told = (sentences(term(100_000 + seed, it), PAGE).sentences for seed in range(terms))
    return sum(any(map(is_it, of_it)) for of_it in told) / terms


def covered(hand: str, reeds: int, grid: float, times: int) -> float:
    """How often the interval of a third's own spread holds the true one, 0.7 mm, read on such a grid."""
    rng, held = np.random.default_rng(7), 0
    u = 0.2 if grid else 0.0
    for _ in range(times):
        read = 0.7 * drawn(hand, rng, reeds) + rng.normal(0, u, reeds)
        read = np.round(read / grid) * grid if grid else read
        thirds = in_thirds(read.tolist())
        it = spreading(thirds[2], [u] * len(thirds[2]), kurtosis(thirds))
        held += it.low <= 0.7 <= it.high
    return held / times


def line(name: str, share: float, met: bool | None) -> bool:
    verdict = {True: "met", False: "NOT MET", None: "reported"}[met]
    sys.stdout.write(f"{name:<58}{share:>8.1%}  {verdict}\n")
    sys.stdout.flush()
    return met is not False


def nothing_changed(terms: int) -> bool:
    sys.stdout.write(f"A change is said though there is none, of {terms} terms of 8 to 25 reeds\n")
    rows = [line(name, share := falsely(it, terms), share <= FALSE_IN) for name, it in UNCHANGED.items()]
    for name, it in WANDERING.items():
        line(name, falsely(it, terms), None)
    name, studios = f"of a studio of {STUDENTS}, heavy tails", max(terms // 5, 1)
    share = falsely_of_studios(UNCHANGED["heavy tails, sittings alike"], studios)
    return all([*rows, line(name, share, share <= FALSE_IN)])


def something_changed(terms: int) -> None:
    sys.stdout.write(f"\nWhat is said of a change that is there, by reeds in the term ({terms} terms each)\n")
    sys.stdout.write(f"{'':<40}" + "".join(f"{reeds:>6}" for reeds in REEDS) + "\n")
    for name, (truth, is_it) in CHANGED.items():
        sys.stdout.write(f"{name:<40}")
        for reeds in REEDS:
            sys.stdout.write(f"{seen(truth, is_it, reeds, terms):>6.0%}")
            sys.stdout.flush()
        sys.stdout.write("\n")


def spreads_covered(times: int) -> bool:
    sys.stdout.write(f"\nThe 95 % interval of a spread holds the true one ({times} thirds each)\n")
    rows = []
    for hand in ("normal", "heavy", "skewed"):
        for reeds in (9, 18, 24):
            share = covered(hand, reeds, 0.5, times)
            bound = share >= COVERS if hand == "normal" else None
            rows.append(line(f"{hand}, {reeds} reeds, ruler to half a millimetre", share, bound))
    return all(rows)


def main(terms: int = 2000) -> int:
    """Print the tables; 1 where a bound is not kept."""
    kept = [nothing_changed(terms), spreads_covered(terms)]
    something_changed(max(terms // 10, 1))
    return 0 if all(kept) else 1


if __name__ == "__main__":
    sys.exit(main(*(int(word) for word in sys.argv[1:2])))
