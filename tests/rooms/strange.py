"""Takes that share nothing with those that set constants: other voices, other music, another kind of room.

One constant was set on them, on the voices of the half to fix: what whispers leave of a quiet pause.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tests.rooms.compose import Scene, composed
from tests.rooms.lists import beside_reference, crowing, stroke_at
from tests.rooms.reed import a_colour
from tests.rooms.tongued import staccato
from tests.rooms.truth import Besides, RoomTake

Takes = tuple[RoomTake, ...]
Rng = np.random.Generator


def other_voices(rng: Rng) -> Takes:
    return beside_reference(rng, {"besides": [Besides("other speech", rng.uniform(-30, -14), 0.0, np.inf)]})


def other_music(rng: Rng) -> Takes:
    return beside_reference(rng, {"besides": [Besides("band", rng.uniform(-30, -10), 0.0, np.inf)]})


def other_hall(rng: Rng) -> Takes:
    return beside_reference(
        rng, {"rt60_s": rng.uniform(1.2, 2.0), "drr_db": rng.uniform(-6, 4), "room": "noise"}
    )


def strokes_in_other_room(rng: Rng) -> Takes:
    """0.3 to 0.6 s."""
    return staccato(rng, rt60_s=rng.uniform(0.3, 0.6), drr_db=rng.uniform(-6, 4), room="noise")


def strokes_in_other_hall(rng: Rng) -> Takes:
    """0.6 to 2.0 s."""
    return staccato(rng, rt60_s=rng.uniform(0.6, 2.0), drr_db=rng.uniform(-6, 4), room="noise")


def _with_talk(scene: Scene, rng: Rng) -> Takes:
    """Somebody talks before it, or after it."""
    talk, last = rng.uniform(1.5, 3.0), scene.strokes[0].start_s + scene.strokes[0].length_s
    before = rng.random() < 0.5
    start = 0.2 if before else last + rng.uniform(0.3, 0.6)
    moved = [replace(one, start_s=one.start_s + talk) for one in scene.strokes] if before else scene.strokes
    besides = [Besides("speech", rng.uniform(-14, 0), start, start + talk)]
    return (composed(replace(scene, strokes=moved, besides=besides, floor_db=rng.uniform(-62, -48)), rng),)


def talk_by_tuning(rng: Rng) -> Takes:
    stroke = replace(stroke_at(69, 0.8, rng), length_s=rng.uniform(2.0, 2.9))
    return _with_talk(Scene("tuning", (69,), [stroke], a_colour(rng)), rng)


def talk_by_long_tone(rng: Rng) -> Takes:
    stroke = replace(stroke_at(69, 0.8, rng), length_s=rng.uniform(3.0, 5.0), swell_db=rng.uniform(0, 12))
    return _with_talk(Scene("long_tone", (69,), [stroke], a_colour(rng)), rng)


def talk_by_crow(rng: Rng) -> Takes:
    return _with_talk(crowing(rng, (72, 84)), rng)
