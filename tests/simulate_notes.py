"""Sustained notes of many kinds with known pitch, for tables that must not hinge on one kind of player."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tests.simulate_sound import Blow

KINDS = ("constant", "vibrato", "drift", "wander", "all")
A4, LOWEST, HIGHEST = 69, 58, 91


def sustained(rng: np.random.Generator, count: int) -> tuple[list[Blow], list[str]]:
    """Notes Bb3 to G6 with gaps between them, and the kind of each: how its pitch moves."""
    blows, kinds, at = [], [], 0.5
    for _ in range(count):
        kind = str(rng.choice(KINDS))
        note = moving(plain_note(rng, at), kind, rng)
        blows.append(note)
        kinds.append(kind)
        at += note.length + rng.uniform(0.2, 0.4)
    return blows, kinds


def plain_note(rng: np.random.Generator, at: float) -> Blow:
    """A note of constant pitch: one of four spectra, attacks of 5 to 100 ms, with or without air before."""
    return Blow(
        hz=440.0 * 2 ** ((rng.integers(LOWEST, HIGHEST + 1) - A4) / 12 + rng.uniform(-40, 40) / 1200),
        start=at,
        length=rng.uniform(0.6, 2.0),
        level=0.3 * 10 ** (rng.uniform(-12, 0) / 20),
        attack=float(np.exp(rng.uniform(np.log(0.005), np.log(0.1)))),
        release=rng.uniform(0.02, 0.1),
        shape=str(rng.choice(["linear", "cosine", "exponential"])),
        breath_before=rng.choice([0.0, rng.uniform(0, 0.08)]),
        breath_level=rng.choice([0.0, 10 ** rng.uniform(-4, -2)]),
        weak_first_db=rng.uniform(-25, 0),
        tilt=rng.uniform(0.5, 2.0),
        spectrum=str(rng.choice(["formants", "formants", "saw", "square", "few"])),
        chiff=rng.choice([0.0, rng.uniform(0, 0.5)]),
        scoop=rng.uniform(0, 15) * float(rng.random() < 0.2),
    )


def moving(note: Blow, kind: str, rng: np.random.Generator) -> Blow:
    """The note with what its kind asks for."""
    if kind in ("vibrato", "all"):
        note = replace(
            note,
            vibrato_cents=rng.uniform(5, 40),
            vibrato_hz=rng.uniform(4.0, 6.5),
            vibrato_phase=rng.uniform(0, 2 * np.pi),
            vibrato_level=rng.choice([0.0, rng.uniform(0, 0.3)]),
        )
    if kind in ("drift", "all"):
        note = replace(note, drift=rng.normal(0, 3))
    if kind in ("wander", "all"):
        note = replace(note, restless=rng.uniform(0.3, 4), jitter=rng.choice([0.0, rng.uniform(0, 3)]))
    return note
