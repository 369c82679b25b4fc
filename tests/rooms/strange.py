"""Takes that share nothing with those that set constants: other voices, other music, another kind of room.

One constant was set on them, on the voices of the half to fix: what whispers leave of a quiet pause.
"""

from __future__ import annotations

import numpy as np

from tests.rooms.lists import beside_reference
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
