"""Takes of staccato: rooms that ring, noise, a metronome, keys, breaths and voices beside it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tests.rooms.compose import Scene, composed, hz_of
from tests.rooms.lists import darker
from tests.rooms.phone import PHONES, TELEPHONE
from tests.rooms.reed import Stroke, a_colour
from tests.rooms.truth import Besides, RoomTake

Takes = tuple[RoomTake, ...]
Rng = np.random.Generator


def _strokes(rng: Rng, even: bool) -> list[Stroke]:
    """Sixteenths at 60 to 100 beats a minute on one note; uneven ones stray by 6 to 12 % of their step."""
    step, count = 15.0 / rng.uniform(60, 100), int(rng.integers(8, 21))
    number, duty = int(rng.choice([69, 69, 67, 65, 72])), rng.uniform(0.4, 0.75)
    stray = step * (rng.uniform(0.005, 0.02) if even else rng.uniform(0.06, 0.12))
    starts = 0.8 + step * np.arange(count) + np.clip(rng.normal(0.0, stray, count), -0.2 * step, 0.2 * step)
    off = rng.normal(0.0, 8.0)
    return [
        Stroke(
            hz_of(number, off + rng.normal(0.0, 4.0)),
            number,
            float(start),
            step * duty * rng.uniform(0.9, 1.1),
            level=0.1 * 10 ** (rng.normal(0.0, 1.2) / 20),
            rise_s=rng.uniform(0.006, 0.018),
            fall_s=rng.uniform(0.01, 0.03),
            air_s=rng.uniform(0.004, 0.012),
            air_db=-30.0,
            scoop_cents=rng.uniform(0, 15),
            crack_db=rng.choice([None, rng.uniform(-18, -10)]),
        )
        for start in starts
    ]


def staccato(rng: Rng, besides: list[Besides] | None = None, **rest: object) -> Takes:
    even = bool(rng.random() < 0.5)
    scene = Scene(
        "staccato",
        (69,),
        _strokes(rng, even),
        a_colour(rng),
        besides or [],
        **{"phone": PHONES[int(rng.integers(len(PHONES)))], "marks": {"even": even}, **rest},
    )
    return (composed(scene, rng),)


def _beside(rng: Rng, kind: str, low_db: float, high_db: float) -> Takes:
    room = {"rt60_s": float(rng.choice([0.0, 0.3])), "drr_db": rng.uniform(0, 4)}
    return staccato(rng, [Besides(kind, rng.uniform(low_db, high_db), 0.0, np.inf)], **room)


def dry(rng: Rng) -> Takes:
    return staccato(rng, floor_db=rng.uniform(-62, -48))


def telephone(rng: Rng) -> Takes:
    """What is told of strokes does not depend on a telephone's band."""
    return staccato(rng, floor_db=rng.uniform(-58, -42), phone=TELEPHONE)


def soft(rng: Rng) -> Takes:
    """Soft and dark, of a whole band, in a quiet room."""
    strokes = [replace(stroke, crack_db=None) for stroke in _strokes(rng, even=True)]
    scene = Scene("staccato", (69,), strokes, darker(a_colour(rng)), floor_db=rng.uniform(-66, -52))
    return (composed(replace(scene, phone=PHONES[0]), rng),)


def room(rng: Rng) -> Takes:
    """0.3 to 0.6 s."""
    return staccato(rng, rt60_s=rng.uniform(0.3, 0.6), drr_db=rng.uniform(-6, 4))


def hall(rng: Rng) -> Takes:
    """0.6 to 2.0 s."""
    return staccato(rng, rt60_s=rng.uniform(0.6, 2.0), drr_db=rng.uniform(-6, 4))


def pink(rng: Rng) -> Takes:
    return staccato(rng, [Besides("pink", -10.0, 0.0, np.inf)])


def babble(rng: Rng) -> Takes:
    return staccato(rng, [Besides("babble", -10.0, 0.0, np.inf)])


def metronome(rng: Rng) -> Takes:
    return _beside(rng, "metronome", -20, -4)


def keys(rng: Rng) -> Takes:
    return _beside(rng, "keys", -24, -10)


def breaths(rng: Rng) -> Takes:
    return _beside(rng, "breaths", -30, -16)


def voices(rng: Rng) -> Takes:
    return _beside(rng, "speech", -24, -10)


def failing(rng: Rng) -> Takes:
    """One or two strokes of the middle give only air: what must still be counted as failed."""
    strokes = _strokes(rng, even=True)
    silent = rng.choice(np.arange(1, len(strokes) - 1), int(rng.integers(1, 3)), replace=False)
    air = {"spoke": False, "air_db": -20.0, "air_s": 0.01}
    kept = [replace(s, **air) if i in silent else s for i, s in enumerate(strokes)]
    return (composed(Scene("staccato", (69,), kept, a_colour(rng)), rng),)
