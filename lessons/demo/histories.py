"""Believable lives of reeds, planned before they are written down; the same at every load."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field

import numpy as np

from lessons.demo.people import REEDS_EACH, Hand
from reeds.checks.experiments import STROKES, Blade, Side, Strokes, Zone
from reeds.numbers.words import Flexibility, Method, Stage

DAYS_SO_FAR = 72
CANE_BEYOND = 27.0


@dataclass(frozen=True)
class Number:
    """A number or word noted on a day of the term."""

    day: float
    stage: Stage
    quantity: str
    value: float | None = None
    word: str = ""
    method: Method = Method.RULER
    by_teacher: bool = False


@dataclass
class Life:
    """What is planned for one reed; days count from the first day of the term."""

    number: int
    cane: int
    flexibility: Flexibility
    staple: float
    made: float
    steps: list[tuple[float, Stage, str]] = field(default_factory=list)
    clips: list[tuple[float, float]] = field(default_factory=list)
    strokes: list[tuple[float, Strokes]] = field(default_factory=list)
    played: list[float] = field(default_factory=list)
    numbers: list[Number] = field(default_factory=list)
    rounds: list[tuple[float, Stage]] = field(default_factory=list)
    tie: float = 72.0
    thread_end: float = 45.0
    scrape: float = 0.0
    unevenness: float = 0.0
    opening: float = 0.8
    speaks: dict[str, int] = field(default_factory=dict)
    effort: int = 3
    measures: bool = False

    @property
    def stage(self) -> Stage:
        return self.steps[-1][1] if self.steps else Stage.CANE


def lives(hand: Hand, seed: int) -> list[Life]:
    """Plan the reeds of one student up to today."""
    rng = np.random.default_rng(seed)
    return [_life(hand, number, rng) for number in range(1, REEDS_EACH + 1)]


def _life(hand: Hand, number: int, rng: np.random.Generator) -> Life:
    skill = (number - 1) / (REEDS_EACH - 1)
    made = (number - 1) * (DAYS_SO_FAR - 4) / (REEDS_EACH - 1) + float(rng.uniform(0, 6))
    made = min(made, DAYS_SO_FAR - 1.5)
    flexibility = list(Flexibility)[int(rng.choice(3, p=[0.2, 0.6, 0.2]))]
    life = Life(number, number % 3, flexibility, hand.staple, made, measures=number in hand.measures)
    _tie(life, hand, skill, rng)
    if rng.random() < hand.gives_up:
        day = life.steps[-1][0] + float(rng.uniform(1, 4))
        _step(life, day, Stage.GIVEN_UP, "It leaks at the side and does not close.")
        return life
    _scrape(life, hand, skill, rng)
    return life


def _step(life: Life, day: float, stage: Stage, why: str = "") -> bool:
    """Add a step unless its day has not come; once one has not, none after it has."""
    if day > DAYS_SO_FAR or (life.steps and day < life.steps[-1][0]):
        return False
    life.steps.append((day, stage, why))
    return True


def _tie(life: Life, hand: Hand, skill: float, rng: np.random.Generator) -> None:
    spread = hand.tie_spread * (1 - hand.learns * skill)
    beyond = CANE_BEYOND + hand.tie_bias * (1 - hand.learns * skill) + float(rng.normal(0, spread))
    life.tie = life.staple + beyond
    life.thread_end = life.staple + float(rng.normal(0.1, 0.3))
    life.steps.append((life.made, Stage.SHAPED, ""))
    life.steps.append((life.made + 0.05, Stage.TIED, ""))
    day = life.made + 0.06
    last = life.number == REEDS_EACH
    misread = 1.5 if rng.random() < hand.misreads or (last and hand.misreads) else 0.0
    _number(life, (day, Stage.TIED), "staple_length", life.staple, rng)
    _number(life, (day, Stage.TIED), "cane_beyond_staple", beyond, rng)
    _number(life, (day, Stage.TIED), "tie_length", life.tie + misread, rng)
    airtight = "yes" if rng.random() < 0.85 else "no"
    life.numbers.append(Number(day, Stage.TIED, "airtight", word=airtight, method=Method.EYE))
    if life.number % 2 == 1 or misread or last:
        life.rounds.append((day + 0.02, Stage.TIED))
    if _step(life, life.made + 1, Stage.BOUND):
        _number(
            life, (life.made + 1.01, Stage.BOUND), "thread_past_staple", life.thread_end - life.staple, rng
        )


def _scrape(life: Life, hand: Hand, skill: float, rng: np.random.Generator) -> None:
    rest = float(rng.uniform(0.3, 2)) if rng.random() < 0.25 else float(rng.uniform(3, 12))
    day = life.made + 1 + rest * (1.5 if hand.slow else 1)
    if not _step(life, day, Stage.SCRAPED):
        return
    aim = 12.0 if life.flexibility is Flexibility.HARD else 11.0
    life.scrape = aim + float(rng.normal(0, 0.5 * (1 - hand.learns * skill)))
    _number(life, (day + 0.01, Stage.SCRAPED), "scrape_length", life.scrape, rng)
    clip = round(float(rng.uniform(0.5, 1.5)), 1)
    life.clips.append((day + 0.02, clip))
    if not _step(life, day + 2, Stage.FINISHING):
        return
    _number(life, (day + 2.01, Stage.FINISHING), "overall_length", life.tie - clip, rng)
    _number(life, (day + 2.01, Stage.FINISHING), "tip_length", float(rng.normal(2.5, 0.3)), rng)
    life.unevenness = round(hand.uneven * (1 - hand.learns * skill) + float(rng.normal(0, 0.05)), 2)
    closing = Number(day + 2.01, Stage.FINISHING, "closing", word=_closing(life), method=Method.EYE)
    life.numbers.append(closing)
    _play(life, hand, skill, day + 4, rng)


def _closing(life: Life) -> str:
    """The side that is less open closes first."""
    if abs(life.unevenness) <= 0.12:
        return "together"
    return "right_first" if life.unevenness > 0 else "left_first"


def _on_the_open_side(life: Life) -> Strokes:
    """Three strokes where it stays open: the left half is larger where the unevenness is over 0."""
    side = Side.LEFT if life.unevenness > 0 else Side.RIGHT
    return Strokes(STROKES, side, Blade.BOTH, Zone.SCRAPE)


def _play(life: Life, hand: Hand, skill: float, day: float, rng: np.random.Generator) -> None:
    if not _step(life, day, Stage.PLAYING):
        life.rounds.append((min(day - 1.9, DAYS_SO_FAR - 0.1), Stage.FINISHING))
        return
    if abs(life.unevenness) > 0.12:
        life.strokes.append((day - 0.5, _on_the_open_side(life)))
    life.played = [each for each in (day + 1, day + 2, day + 4, day + 7) if each < DAYS_SO_FAR]
    life.opening = float(rng.normal(0.85, 0.12))
    _caliper(life, (day + 0.01, Stage.PLAYING), "opening_height", life.opening, rng)
    good = 2.5 + 1.5 * skill - 4 * abs(life.unevenness)
    playing = (day + 0.01, Stage.PLAYING)
    life.numbers.append(Number(*playing, "closing", word=_closing(life), method=Method.EYE))
    cents = round(float(rng.normal(-4 if life.tie > life.staple + 27.5 else 0, 4)))
    life.numbers.append(Number(*playing, "a4_cents", cents, method=Method.EYE))
    for item in ("low_notes", "staccato", "third_octave", "tuning"):
        life.speaks[item] = int(np.clip(round(float(rng.normal(good, 0.9))), 1, 5))
    life.effort = int(np.clip(round(float(rng.normal(3.3, 0.8))), 1, 5))
    life.rounds.append((day + 0.05, Stage.PLAYING))
    if day + 14 < DAYS_SO_FAR:
        _step(life, day + 14, Stage.PLAYED_OUT)


def _number(
    life: Life, when: tuple[float, Stage], quantity: str, true: float, rng: np.random.Generator
) -> None:
    """Note a number as it is read on a ruler: near the truth, on the grid of half millimetres."""
    read = round(float(true + rng.normal(0, 0.1)) / 0.5) * 0.5
    life.numbers.append(Number(*when, quantity, read))


def _caliper(
    life: Life, when: tuple[float, Stage], quantity: str, true: float, rng: np.random.Generator
) -> None:
    """Note a number as it is read on a caliper."""
    read = round(float(true + rng.normal(0, 0.03)), 2)
    life.numbers.append(Number(*when, quantity, read, method=Method.CALIPER))


def at(starts: dt.datetime, day: float) -> dt.datetime:
    """Return the moment of a day of the term, in the afternoon."""
    whole = int(day)
    return starts + dt.timedelta(days=whole, hours=14 + 6 * (day - whole))
