"""Every condition by its name, and its takes by seed: even seeds to fix constants on, odd ones to report."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from tests.rooms import lists, strange, tongued
from tests.rooms.truth import RoomTake

Maker = Callable[[np.random.Generator], tuple[RoomTake, ...]]
HALVES = {"fix": 0, "report": 1}

# the order gives each its seeds: new ones go to the end
CONDITIONS: dict[str, Maker] = {
    "piano": lists.piano_next_door,
    "speech": lists.speech_under,
    "hall": lists.hall,
    "tone": lists.tone_besides,
    "quiet": lists.quiet,
    "slow": lists.slow_reed,
    "other note": lists.other_note,
    "talk before": lists.talk_before,
    "talk after": lists.talk_after,
    "repeated": lists.repeated,
    "wrong first": lists.wrong_first,
    "played right": lists.played_right,
    "tone low": lists.tone_low,
    "swapped": lists.swapped,
    "vibrato": lists.vibrato,
    "attacks": lists.attacks,
    "tremolo": lists.tremolo,
    "quiet tones": lists.quiet_tones,
    "restless tones": lists.restless_tones,
    "crow of three": lists.crow_three,
    "crow of two": lists.crow_two,
    "soft low": lists.soft_low,
    "telephone": lists.telephone,
    "staccato dry": tongued.dry,
    "staccato room": tongued.room,
    "staccato hall": tongued.hall,
    "staccato pink": tongued.pink,
    "staccato babble": tongued.babble,
    "staccato metronome": tongued.metronome,
    "staccato keys": tongued.keys,
    "staccato breaths": tongued.breaths,
    "staccato voices": tongued.voices,
    "staccato failing": tongued.failing,
    "staccato soft": tongued.soft,
    "other voices": strange.other_voices,
    "other music": strange.other_music,
    "other hall": strange.other_hall,
    "staccato other room": strange.strokes_in_other_room,
    "staccato other hall": strange.strokes_in_other_hall,
    "tuning talk": strange.talk_by_tuning,
    "long tone talk": strange.talk_by_long_tone,
    "crow talk": strange.talk_by_crow,
    "crow from 200 Hz": lists.crow_low,
    "soft low coded": lists.soft_low_coded,
    "staccato telephone": tongued.telephone,
    "crow of two from 200 Hz": lists.crow_two_low,
    "crow of one": lists.crow_one,
    "crow in a room": lists.crow_in_room,
}


def made(condition: str, seed: int) -> tuple[RoomTake, ...]:
    """The takes of one seed: one, or this reed's and the reference reed's."""
    place = list(CONDITIONS).index(condition)
    return CONDITIONS[condition](np.random.default_rng([9, place, seed]))


def seeds(half: str, count: int, first: int = 0) -> range:
    """So many seeds of a half, without its first ones: those may have been looked at."""
    return range(HALVES[half] + 2 * first, 2 * (first + count), 2)


def all_of(condition: str, half: str, count: int, first: int = 0) -> Iterator[tuple[RoomTake, ...]]:
    return (made(condition, seed) for seed in seeds(half, count, first))
