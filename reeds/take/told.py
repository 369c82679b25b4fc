"""What takes told, as the checks read it: notes that spoke, response, the tuning note's cents, the crow."""

from __future__ import annotations

import datetime as dt
import statistics
from collections.abc import Iterable, Mapping
from typing import Any

from reeds.checks.facts import Reading, Told
from reeds.numbers.measured import Measured
from reeds.numbers.vocabulary import Method, Moisture, Stage
from reeds.reed.facts import HeardOf
from reeds.reed.models.reed import Reed
from reeds.take.models import Take
from reeds.take.sound.quality import TOO_NOISY

SITTING = dt.timedelta(hours=6)
CROW_OFF_CENTS = 50.0
# one soft beginning that grows, and a rattle, have no attack whose length would tell of the reed
WITHOUT_ATTACK = ("long_tone", "crow")
GRANTED = ("autoGainControl", "noiseSuppression", "echoCancellation")


def cannot_tell_level(granted: Mapping[str, bool | None]) -> bool:
    """Whether level, range and soft attacks cannot be told: some processing was on, or nobody knows."""
    return any(granted.get(name) is not False for name in GRANTED)


def told_by(take: Take) -> Told:
    """Return what one take told, as the checks read it."""
    item = take.result.get("item") or {}
    notes = [note for note in take.result.get("notes", []) if note.get("response_ms") is not None]
    # soft attacks may have been cut off by the phone
    hidden = cannot_tell_level(take.granted) or take.item in WITHOUT_ATTACK
    return Told(
        asked=item.get("asked"),
        spoke=item.get("spoke"),
        response_ms=None if hidden or not notes else _median_response(notes),
        too_noisy=TOO_NOISY in take.result.get("warnings", []),
        cents=_cents(item) if take.item == "tuning" else None,
    )


def _cents(item: Mapping[str, Any]) -> Measured | None:
    if item.get("cents") is None:
        return None
    return Measured(item["cents"], item.get("cents_standard_uncertainty") or 0.0)


def _median_response(notes: list[dict[str, Any]]) -> Measured:
    values = [note["response_ms"] for note in notes]
    doubts = [note.get("response_ms_standard_uncertainty") or 0.0 for note in notes]
    return Measured(statistics.median(values), statistics.median(doubts))


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
    if TOO_NOISY in take.result.get("warnings", []):
        return []
    item = take.result.get("item") or {}
    cents = _cents(item)
    if take.item == "tuning" and cents is not None:
        return [_reading(take, "a4_cents", measured=cents)]
    choice = _crow(item) if take.item == "crow" and item.get("pitches") else ""
    return [_reading(take, "crow", choice=choice)] if choice else []


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


def _crow(item: Mapping[str, Any]) -> str:
    """Where the crow lies beside C in octaves: the lowest pitch's distance from the nearest C decides.

    '' where one voice or two cannot be told: that is neither in octaves nor wild.
    """
    lowest = min(item["pitches"], key=lambda pitch: pitch["hz"])
    off = _cents_from_c(lowest)
    if abs(off) > CROW_OFF_CENTS:
        return "flat" if off < 0 else "sharp"
    return {True: "octaves", False: "wild"}.get(item.get("octave"), "")  # type: ignore[arg-type]  # None: untold


def _cents_from_c(pitch: Mapping[str, Any]) -> float:
    steps = {
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
    return 100.0 * steps[pitch["name"].rstrip("0123456789-")] + float(pitch["cents"])
