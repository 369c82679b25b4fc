"""Measures what comparisons are worth: how often chance passes for a difference, what is seen, what is held.

Run `python -m tests.accuracy.comparison 1000`: so many studios in which nothing makes a difference, of each
kind; a fifth as many of each difference and number of reeds. In all of them good students rest longer and
play better, and so does everybody in the last third. The exit status is 1 where a bound is not met.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator

import numpy as np

from lessons.comparison.inference.compared import ALPHA, Measure, compare
from lessons.comparison.inference.enough import Shares, enough
from lessons.comparison.inference.lots import BLOCK, lots
from lessons.comparison.inference.pairs import concordance
from lessons.comparison.inference.several import holm
from lessons.comparison.inference.shares import difference_of_shares
from lessons.comparison.inference.shifts import shift
from lessons.comparison.inference.strata import Case
from tests.lessons.comparison.studios import graded_null_studio, helped_studio, null_studio

# permutations are discrete, so that the true share lies below the level and a thousand studios show that
FALSE_IN, COVERS, SEES = 0.05, 0.92, 0.75
STUDENTS = 4
REEDS = (6, 12, 18, 24, 36)
HELPS = (0.2, 0.3, 0.4, 0.5)
SHAPES = ((3, 6), (6, 4), (6, 8), (12, 6))


def says_yes(cases: list[Case], measure: Measure) -> bool:
    return compare(cases, measure, 999).p <= ALPHA


def drawn_by_lot(seed: int) -> list[Case]:
    """A planned comparison that changes nothing: reeds get better from one to the next, students differ."""
    random = np.random.default_rng([11, seed])
    cases = []
    for student in range(STUDENTS):
        good = random.normal(0, 2)
        for place, arm in enumerate(lots(12, seed, student)):
            plays = random.random() < 1 / (1 + np.exp(-(good + place / 4 - 1.5)))
            cases.append(Case((student, place // BLOCK), "ab"[arm], float(plays)))
    return cases


def in_three_lots(seed: int) -> list[Case]:
    """Three lots of cane, of which good students have the first more often."""
    random = np.random.default_rng([12, seed])
    cases = null_studio(seed)
    first = {case.stratum: random.random() for case in cases}
    chosen = (
        "a" if random.random() < first[case.stratum] else "bc"[int(random.integers(2))] for case in cases
    )
    return [case._replace(factor=lot) for case, lot in zip(cases, chosen, strict=True)]


def five_questions(seed: int) -> bool:
    """Whether one of five questions asked of one such term gets a yes."""
    random = np.random.default_rng([13, seed])
    cases = null_studio(seed)
    asked = [cases]
    for _question in range(4):
        asked.append([case._replace(factor="xy"[int(random.integers(2))]) for case in cases])
    return min(holm([compare(one, Measure.SHARES, 999).p for one in asked])) <= ALPHA


NOTHING: dict[str, Callable[[int], bool]] = {
    "rest short or long, came to play": lambda seed: says_yes(null_studio(seed), Measure.SHARES),
    "days of rest, rating from 1 to 5": lambda seed: says_yes(graded_null_studio(seed), Measure.PAIRS),
    "three lots of cane, came to play": lambda seed: says_yes(in_three_lots(seed), Measure.SHARES),
    "drawn by lot, reeds get better": lambda seed: says_yes(drawn_by_lot(seed), Measure.SHARES),
    "five questions of one term, Holm": five_questions,
}


def power_at(helps: float, reeds: int, studios: int) -> float:
    """How often a true difference is said, of so many studios."""
    told = (says_yes(helped_studio(seed, STUDENTS, reeds, helps), Measure.SHARES) for seed in range(studios))
    return sum(told) / studios


def held(strata: int, size: int, tries: int) -> dict[str, float]:
    """How often the 95 % interval holds the truth: of shares, shifts, and pairs."""
    random = np.random.default_rng([14, strata, size])
    stratum = np.repeat(np.arange(strata), size)
    one = (np.arange(strata * size) % 2).astype(float)
    r = np.sin(np.pi / 2 * 0.4)  # of two normal variables of which 70 pairs in 100 agree
    count = dict.fromkeys(("shares, 25 in 100 more", "a shift of 0.8 sd", "70 of 100 pairs"), 0)
    for _try in range(tries):
        of_student = random.normal(0, 3, strata)[stratum]
        base = np.clip(random.normal(0.4, 0.25, strata), 0.05, 0.7)[stratum]
        yes = (random.random(len(stratum)) < base + 0.25 * one).astype(float)
        noise = random.normal(size=len(stratum))
        amount = random.normal(size=len(stratum))
        leaning = r * amount + np.sqrt(1 - r**2) * noise + of_student
        found = (
            (difference_of_shares(yes, one, stratum), 0.25),
            (shift(noise + of_student + 0.8 * one, one, stratum), 0.8),
            (concordance(amount, leaning, stratum), 0.7),
        )
        for name, (effect, truth) in zip(count, found, strict=True):
            count[name] += effect.low <= truth <= effect.high
    return {name: hits / tries for name, hits in count.items()}


def rows(studios: int) -> Iterator[tuple[str, float, float | None, bool]]:
    """(what, measured, bound, whether it is met), a line each."""
    for name, asks in NOTHING.items():
        share = sum(asks(seed) for seed in range(studios)) / studios
        yield f"nothing in it: {name}", share, FALSE_IN, share <= FALSE_IN
    for strata, size in SHAPES:
        for name, share in held(strata, size, studios).items():
            yield f"interval holds: {name}, {strata} x {size} reeds", share, COVERS, share >= COVERS
    for helps in HELPS:
        for reeds in REEDS:
            seen = power_at(helps, reeds, studios // 5)
            yield f"seen: {helps:.0%} more, {STUDENTS} x {reeds} reeds", seen, None, True
    for helps in HELPS[1:]:
        wanted = enough(Shares(0.5, helps), STUDENTS * 3) or 0
        seen = power_at(helps, -(-wanted // STUDENTS), studios // 5)
        yield f"seen: {helps:.0%} more, {wanted} reeds as the page asks for", seen, SEES, seen >= SEES


def main(studios: int) -> int:
    """Print every row; 1 where one with a bound is not met."""
    met = True
    for name, measured, bound, is_met in rows(studios):
        must = "" if bound is None else f"{bound:.0%} {'met' if is_met else 'NOT MET'}"
        sys.stdout.write(f"{name:<62}{measured:>8.1%}  {must}\n")
        sys.stdout.flush()
        met = met and is_met
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000))
