"""What takes told, as the checks read it: notes that spoke, response, the tuning note's cents, the crow."""

from __future__ import annotations

import datetime as dt
import statistics
from collections.abc import Iterable, Sequence

from reeds.checks.facts import Reading, Told
from reeds.numbers.measured import Measured
from reeds.numbers.vocabulary import Method, Moisture, Stage
from reeds.reed.facts import HeardOf
from reeds.reed.models.reed import Reed
from reeds.take.models import Take
from reeds.take.sound.heard import Crow, CrowPitch, NotesSpoken, Tuning
from reeds.take.sound.quality import TOO_NOISY

SITTING = dt.timedelta(hours=6)
CROW_OFF_CENTS = 50.0
# one soft beginning that grows, and a rattle, have no attack whose length would tell of the reed
WITHOUT_ATTACK = ("long_tone", "crow")
# where each note lies beside the nearest C, in semitones
FROM_C = {
    "C": 0,
    "C#": 1,
    "D": 2,
    "Eb": 3,
    "E": 4,
    "F": 5,
    "F#": 6,
    "G": -5,
    "Ab": -4,
    "A": -3,
    "Bb": -2,
    "B": -1,
}


def told_by(take: Take) -> Told:
    """Return what one take told, as the checks read it."""
    heard = take.heard
    responses = [note.response_ms for note in heard.notes if note.response_ms is not None]
    # soft attacks may have been cut off by the phone
    hidden = take.processing.hides_level or take.item in WITHOUT_ATTACK
    notes = heard.item if isinstance(heard.item, NotesSpoken) else None
    return Told(
        asked=None if notes is None else notes.asked,
        spoke=None if notes is None else notes.spoke,
        response_ms=None if hidden or not responses else _median(responses),
        too_noisy=TOO_NOISY in heard.warnings,
        cents=heard.item.cents if isinstance(heard.item, Tuning) else None,
    )


def _median(figures: Sequence[Measured]) -> Measured:
    return Measured(
        statistics.median(one.value for one in figures), statistics.median(one.u for one in figures)
    )


def newest_of_each(takes: Iterable[Take]) -> dict[str, Take]:
    """Return the newest take that was heard of each item."""
    return {take.item: take for take in sorted(takes, key=lambda take: take.at) if take.is_ready}


def takes_of(reed: Reed) -> dict[str, Take]:
    """Return the newest take of each item heard since the reed's last step: it was another reed before."""
    rows = Take.objects.heard().filter(reed=reed.pk, at__gte=reed.stage_since).defer("tracks")
    return newest_of_each(rows)


def reference_takes(reed: Reed, moment: dt.datetime) -> dict[str, Take]:
    """Return what the player's reference reed gave in the same sitting."""
    rows = (
        Take.objects.heard().filter(reed__owner=reed.owner_id, reed__is_reference=True).exclude(reed=reed.pk)
    )
    return newest_of_each(rows.filter(at__gte=moment - SITTING, at__lte=moment + SITTING))


def heard_of(reed: Reed) -> HeardOf:
    """Return what recordings told of the reed as it is now, and of the reference reed in the same sitting."""
    own = takes_of(reed)
    if not own:
        return HeardOf()
    newest_take = max(take.at for take in own.values())
    beside = {} if reed.is_reference else reference_takes(reed, newest_take)
    return HeardOf(
        {item: told_by(take) for item, take in own.items()},
        {item: told_by(take) for item, take in beside.items()},
    )


def readings_of(take: Take) -> list[Reading]:
    """Return what a take says of the registry's quantities: the tuning note's cents, the crow."""
    heard = take.heard
    if TOO_NOISY in heard.warnings:
        return []
    match heard.item:
        case Tuning(cents) if cents is not None:
            return [_reading(take, "a4_cents", measured=cents)]
        case Crow() if choice := _word_of(heard.item):
            return [_reading(take, "crow", choice=choice)]
    return []


def _reading(take: Take, quantity: str, measured: Measured | None = None, choice: str = "") -> Reading:
    return Reading(
        quantity=quantity,
        measured=measured,
        choice=choice,
        method=Method.RECORDING,
        moisture=Moisture.WET,
        when=take.at,
        stage=Stage(take.stage or take.reed.stage),
        batch=f"take {take.pk}",
    )


def _word_of(crow: Crow) -> str:
    """Where the crow lies beside C in octaves: the lowest pitch's distance from the nearest C decides.

    '' where no pitch was heard; also where one voice or two cannot be told: neither in octaves nor wild.
    """
    if not crow.pitches:
        return ""
    off = _cents_from_c(min(crow.pitches, key=lambda pitch: pitch.hz))
    if abs(off) > CROW_OFF_CENTS:
        return "flat" if off < 0 else "sharp"
    return "" if crow.octave is None else "octaves" if crow.octave else "wild"


def _cents_from_c(pitch: CrowPitch) -> float:
    return 100.0 * FROM_C[pitch.name.rstrip("0123456789-")] + pitch.cents.value
