"""The lives of the reeds of the demo's finished term, as `truth` has them; the same at every load."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from statistics import NormalDist

import numpy as np

from lessons.demo import truth
from lessons.demo.histories import CANE_BEYOND, Life, Number
from reeds.checks.experiments import STROKES, Blade, Side, Strokes, Zone
from reeds.numbers.words import PLAYING_TEST, Flexibility, Method, Stage

# with these chance shows nothing that `truth` does not hold: tests/lessons/demo/test_truth_found.py
SEEDS = {maker.username: 100 + place for place, maker in enumerate(truth.MAKERS)}
ITEMS = [item for item in PLAYING_TEST if item != "crow"]
DOES_NOT_SPEAK = "Scraped to the end, and it still does not speak."
FEELS = (Flexibility.MEDIUM, Flexibility.MEDIUM, Flexibility.HARD, Flexibility.MEDIUM, Flexibility.FLEXIBLE)
WORK = Strokes(STROKES, Side.BOTH, Blade.BOTH, Zone.SCRAPE)


@dataclass(frozen=True)
class Fate:
    """What falls to one reed: its cane, whether it rests for weeks, whether it will play."""

    lot: int
    rested: bool
    plays: bool


@dataclass
class FinishedLife(Life):
    """A life that is over, with what the teacher felt of it: ratings by item, where the teacher played it."""

    teachers: dict[str, int] = field(default_factory=dict)


def finished_lives(maker: truth.Maker) -> list[FinishedLife]:
    """Return the reeds of one hand, oldest first; the last is the blank that still rests."""
    rng = np.random.default_rng(SEEDS[maker.username])
    fates = [fate for third in range(truth.THIRDS) for fate in _fates(third, rng)]
    ties, threads = _scattered(maker.tie, rng), _scattered(maker.thread, rng)
    leaking = set(_leaking(maker, rng))
    lasting = iter(_lasting(sum(fate.plays for fate in fates), rng))
    lives = [
        _tied(maker, number, fate, (tie, thread), number in leaking)
        for number, (fate, tie, thread) in enumerate(zip(fates, ties, threads, strict=True), start=1)
    ]
    for life, fate in zip(lives, fates, strict=True):
        _scraped(life, fate.rested, rng)
        life.speaks = {item: int(rng.choice(truth.SPEAKS[fate.plays])) for item in ITEMS}
        if fate.plays:
            _plays(life, next(lasting), rng)
        else:
            life.steps.append((life.steps[-1][0] + 1.5, Stage.GIVEN_UP, DOES_NOT_SPEAK))
    return [*lives, _open(maker, len(lives) + 1)]


def _fates(third: int, rng: np.random.Generator) -> list[Fate]:
    """The reeds of a third of the term, in a shuffled order."""
    rested = [(lot, True, row.rested[third]) for lot, row in enumerate(truth.LOTS)]
    fresh = [(lot, False, row.fresh[third]) for lot, row in enumerate(truth.LOTS)]
    of_each = truth.REEDS_A_THIRD // (2 * len(truth.LOTS))
    fates = [Fate(lot, rest, n < plays) for lot, rest, plays in rested + fresh for n in range(of_each)]
    return [fates[place] for place in rng.permutation(len(fates))]


def _scattered(spreads: tuple[float, ...], rng: np.random.Generator) -> Iterator[float]:
    """Yield normal scores of exactly these spreads, third by third, each third in a shuffled order."""
    n = truth.REEDS_A_THIRD
    scores = np.array([NormalDist().inv_cdf((place + 0.5) / n) for place in range(n)])
    scores /= scores.std(ddof=1)
    for spread in spreads:
        yield from (float(spread * score) for score in rng.permutation(scores))


def _leaking(maker: truth.Maker, rng: np.random.Generator) -> Iterator[int]:
    a_sixth = truth.THIRDS * truth.REEDS_A_THIRD // len(maker.leaks)
    for sixth, count in enumerate(maker.leaks):
        yield from (sixth * a_sixth + 1 + int(place) for place in rng.permutation(a_sixth)[:count])


def _lasting(n: int, rng: np.random.Generator) -> list[int | None]:
    """How many days each reed that plays lasts, None for those that still do: the last ones."""
    known = [truth.LIVES_DAYS[place % len(truth.LIVES_DAYS)] for place in range(n - truth.STILL_PLAYING)]
    return [*(int(days) for days in rng.permutation(known)), *[None] * truth.STILL_PLAYING]


def _tied(maker: truth.Maker, number: int, fate: Fate, off: tuple[float, float], leaks: bool) -> FinishedLife:
    made = (number - 1) * truth.DAYS / (truth.REEDS_EACH - 1) * 0.99
    staple = maker.staples[number % len(maker.staples)]
    life = FinishedLife(number, fate.lot, FEELS[number % len(FEELS)], staple, made)
    life.tie, life.thread_end = staple + CANE_BEYOND + maker.long + off[0], staple + off[1]
    life.steps = [(made, Stage.SHAPED, ""), (made + 0.05, Stage.TIED, ""), (made + 0.5, Stage.BOUND, "")]
    tied, bound = (made + 0.06, Stage.TIED), (made + 0.51, Stage.BOUND)
    _read(life, tied, "staple_length", staple)
    _read(life, tied, "cane_beyond_staple", life.tie - staple)
    _read(life, tied, "tie_length", life.tie)
    _seen(life, tied, "airtight", "no" if leaks else "yes")
    _read(life, bound, "thread_past_staple", off[1])
    if leaks:
        _seen(life, bound, "airtight", "yes")
    if number % truth.TEACHER_EVERY == 0:
        by = truth.TEACHER_READS[number // truth.TEACHER_EVERY % len(truth.TEACHER_READS)]
        _read(life, (made + 0.3, Stage.TIED), "tie_length", life.tie + by, by_teacher=True)
    life.rounds.append((made + 0.08, Stage.TIED))
    return life


def _read(
    life: Life, when: tuple[float, Stage], quantity: str, mm: float, *, by_teacher: bool = False
) -> None:
    """A caliper's reading, to a twentieth of a millimetre."""
    value = round(mm * 20) / 20
    life.numbers.append(Number(*when, quantity, value, method=Method.CALIPER, by_teacher=by_teacher))


def _seen(life: Life, when: tuple[float, Stage], quantity: str, word: str) -> None:
    life.numbers.append(Number(*when, quantity, word=word, method=Method.EYE))


def _scraped(life: FinishedLife, rested: bool, rng: np.random.Generator) -> None:
    day = life.made + float(rng.uniform(*(truth.RESTED if rested else truth.FRESH)))
    life.steps += [(day, Stage.SCRAPED, ""), (day + 2, Stage.FINISHING, "")]
    aim = 12.0 if life.flexibility is Flexibility.HARD else 11.0
    life.scrape = aim + float(rng.normal(0, 0.2))
    life.clips.append((day + 0.02, 1.0))
    life.strokes.append((day + 2.1, WORK))
    _read(life, (day + 0.01, Stage.SCRAPED), "scrape_length", life.scrape)
    _read(life, (day + 2.01, Stage.FINISHING), "overall_length", life.tie - 1.0)


def _plays(life: FinishedLife, lasts: int | None, rng: np.random.Generator) -> None:
    day = life.steps[-1][0] + 1.5
    life.steps.append((day, Stage.PLAYING, ""))
    _read(life, (day + 0.01, Stage.PLAYING), "opening_height", 0.8 + float(rng.normal(0, 0.1)))
    if life.number % truth.TEACHER_EVERY == 0:
        by = truth.TEACHER_RATES[life.number // truth.TEACHER_EVERY % len(truth.TEACHER_RATES)]
        life.teachers = {item: min(5, speaks + by) for item, speaks in life.speaks.items()}
    if lasts is None:  # kept for concerts: once a week, until now
        life.played = list(np.arange(day + 0.1, truth.NOW, 7.0))
    else:
        life.played = [*np.arange(day + 0.1, day + lasts - 1, 2.0), day + lasts]
        life.steps.append((day + lasts + 0.1, Stage.PLAYED_OUT, ""))


def _open(maker: truth.Maker, number: int) -> FinishedLife:
    return _tied(maker, number, Fate(0, True, False), (0.0, 0.0), leaks=False)
