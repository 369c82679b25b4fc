"""Studios that were never there: blanks whose chance is known, with or without anything that decides it."""

from __future__ import annotations

import numpy as np

from lessons.foretelling.chances.rows import Blank, Told

SHORTEST, LONGEST = 0.5, 40.0  # days of rest


def world(rng, students=6, each=20, strength=0.0, sd_student=0.7, missing=0.1, common=0.3):
    """Return blanks with an outcome, and the true chance of each, shape (students * each,).

    `strength` is what a standard deviation of the rest, of the distance from the tie aim and of being
    airtight moves the log odds by; the rest is on a scale of doublings. Thread, gouge, feel and shape move
    nothing.
    """
    blanks, chances = [], []
    for student, own in enumerate(rng.normal(0.0, sd_student, students)):
        for number in range(each):
            blank = _blank(rng, student, number)
            odds = common + own + strength * _deciding(blank)
            chance = 1.0 / (1.0 + np.exp(-odds))
            plays = bool(rng.random() < chance)
            blanks.append(_some_unknown(rng, missing, blank)._replace(plays=plays))
            chances.append(chance)
    return blanks, np.array(chances)


def _blank(rng, student, number):
    return Blank(
        reed=1000 * student + number,
        number=number,
        student=student,
        tie=Told(rng.normal(0.0, 0.6), 0.05),
        thread=Told(rng.normal(0.0, 0.3), 0.2),
        gouge=Told(rng.normal(0.0, 0.02), 0.01),
        airtight=bool(rng.random() < 0.85),
        shape=str(rng.choice(["narrow", "wide"])),
        flexibility=str(rng.choice(["flexible", "medium", "hard"], p=[0.2, 0.6, 0.2])),
        staple_length=45.0,
        rested_days=float(np.exp(rng.uniform(np.log(SHORTEST), np.log(LONGEST)))),
    )


def _deciding(blank):
    """Standard deviations of what decides, added up: doublings of rest, distance from the aim, airtight."""
    rest = (np.log2(1.0 + blank.rested_days) - 2.75) / 1.45
    off = (abs(blank.tie.value) - 0.48) / 0.36
    return rest - off + (blank.airtight - 0.85) / 0.36


def _some_unknown(rng, share, blank):
    gone = {name: None for name in ("tie", "thread", "gouge", "airtight") if rng.random() < share}
    return blank._replace(**gone)
