"""What takes told, as the checks read it: notes that spoke, response, the tuning note's cents, the crow."""

from __future__ import annotations

import datetime as dt
import json
import math
import statistics
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from typing import Any, NamedTuple, Protocol, TypeVar

from django.db.models import Q, QuerySet, TextField
from django.db.models.functions import Cast

from reeds.checks.facts import Reading, Told
from reeds.checks.grounds import ALIKE_CENTS
from reeds.numbers.measured import Measured
from reeds.numbers.words import Method, Moisture, Stage
from reeds.reed.listening import HeardOf
from reeds.reed.models.reed import Reed
from reeds.take.models import Take
from reeds.take.processing import Processing
from reeds.take.sound.heard import Crow, CrowPitch, Heard, NotesSpoken, Tuning
from reeds.take.sound.quality import TOO_NOISY, UNCLEAR
from reeds.take.sound.stored import heard_from_json
from studio.access import Seer
from studio.prepared import prepared

SITTING = dt.timedelta(hours=6)
CROW_OFF_CENTS = 50.0
# two notes or two takes agree in their answer within so much: from memory, no source
FEWEST_THAT_AGREE = 2
ALIKE_MS, ALIKE_SHARE = 15.0, 0.3
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


class Played(Protocol):
    """What is read of a take: which it is, what was played when, and what was heard."""

    @property
    def pk(self) -> Any: ...  # noqa: ANN401  # Django's own primary key is Any
    @property
    def reed_id(self) -> int: ...
    @property
    def item(self) -> str: ...
    @property
    def at(self) -> dt.datetime: ...
    @property
    def heard(self) -> Heard: ...
    @property
    def processing(self) -> Processing: ...


AnyTake = TypeVar("AnyTake", bound=Played)


class HeardTake(NamedTuple):
    """A take that was heard, with no more of it than the checks read."""

    pk: int
    reed_id: int
    item: str
    at: dt.datetime
    processing: Processing
    heard: Heard


def read_for_checks(result: Mapping[str, Any]) -> Heard:
    """Return what was heard; of each note only how long it takes to speak."""
    return heard_from_json(result, ("response_ms",))


# the checks are asked with every word typed, and a take says the same each time: kept by its very text
@lru_cache(maxsize=256)
def _heard_in(text: str) -> Heard:
    return read_for_checks(json.loads(text))


@lru_cache(maxsize=256)
def _processing_in(text: str) -> Processing:
    return Processing.from_json(json.loads(text))


def told_by(take: Played, others: Sequence[Played] = ()) -> Told:
    """Return what one take told, as the checks read it; `others` are earlier ones of the same sitting."""
    heard = take.heard
    responses = [] if _hides_response(take) else _responses(heard)
    notes = heard.item if isinstance(heard.item, NotesSpoken) else None
    return Told(
        asked=None if notes is None else notes.asked,
        spoke=None if notes is None else notes.spoke,
        response_ms=_median(responses) if responses else None,
        too_noisy=TOO_NOISY in heard.warnings,
        cents=heard.item.cents if isinstance(heard.item, Tuning) else None,
        doubtful=_is_doubtful(heard),
        once=_is_once(heard, responses) and not any(_agrees(take, other) for other in others),
    )


def _is_doubtful(heard: Heard) -> bool:
    """Whether something else sounds, or would not be heard if it did, or another list was played."""
    return heard.is_disturbed or not UNCLEAR.isdisjoint(heard.warnings)


def _hides_response(take: Played) -> bool:
    """Whether soft attacks may have been cut off by the phone, or there is none of which it would tell."""
    return take.processing.hides_level or take.item in WITHOUT_ATTACK


def _responses(heard: Heard) -> list[Measured]:
    return [note.response_ms for note in heard.notes if note.response_ms is not None]


def _is_once(heard: Heard, responses: Sequence[Measured]) -> bool:
    """Whether one note alone is silent, or where all spoke, no two notes answer alike."""
    if isinstance(heard.item, Tuning | Crow):
        return True
    silent = [note for note in heard.notes if not note.sounded]
    if silent:
        return len(silent) < FEWEST_THAT_AGREE
    pairs = ((one, other) for i, one in enumerate(responses) for other in responses[i + 1 :])
    return not any(_is_alike(one, other) for one, other in pairs)


def _is_alike(one: Measured, other: Measured) -> bool:
    apart = one - other
    return abs(apart.value) <= max(ALIKE_MS, ALIKE_SHARE * max(one.value, other.value), 2.0 * apart.u)


def _agrees(take: Played, other: Played) -> bool:
    """Whether another take of the same item says the same: as high, notes silent, as long an answer."""
    if other.pk == take.pk or other.item != take.item or _is_doubtful(other.heard):
        return False
    match take.heard.item, other.heard.item:
        case Tuning(Measured() as own_cents), Tuning(Measured() as other_cents):
            return abs((own_cents - other_cents).value) <= ALIKE_CENTS
        case Crow() as own_crow, Crow() as other_crow:
            return _word_of(own_crow) == _word_of(other_crow) != ""
    silent, beside = (
        {note.name for note in one.heard.notes if not note.sounded and note.name} for one in (take, other)
    )
    if silent:
        return silent == beside
    own, others = (([] if _hides_response(one) else _responses(one.heard)) for one in (take, other))
    return bool(own and others and _is_alike(_median(own), _median(others)))


def _median(figures: Sequence[Measured]) -> Measured:
    """Their median; its doubt is one figure's, and half of what the notes lie apart."""
    values = [one.value for one in figures]
    apart = (max(values) - min(values)) / 2.0
    return Measured(statistics.median(values), math.hypot(statistics.median(one.u for one in figures), apart))


def newest_of_each(takes: Iterable[Take]) -> dict[str, Take]:
    """Return the newest take that was heard of each item."""
    return _newest(take for take in takes if take.is_ready)


def _newest(heard: Iterable[AnyTake]) -> dict[str, AnyTake]:
    return {take.item: take for take in sorted(heard, key=lambda take: take.at)}


def takes_of(reed: Reed) -> dict[str, Take]:
    """Return the newest take of each item since the reed's last step or cut: it was another reed before."""
    since = _last_step(reed, reed.events.last_cut())
    return newest_of_each(Take.objects.heard().filter(reed=reed.pk, at__gte=since).defer("tracks"))


def _last_step(reed: Reed, cut_at: dt.datetime | None) -> dt.datetime:
    return max(reed.stage_since, cut_at) if cut_at else reed.stage_since


def _of_it_and_the_reference(reed: Reed, since: dt.datetime) -> list[HeardTake]:
    """Return the takes of a reed and of its player's reference reed, with what they told."""
    return [
        HeardTake(pk, reed_pk, item, at, _processing_in(granted), _heard_in(result))
        for pk, reed_pk, item, at, granted, result in _heard_since(reed.owner, reed.pk, since)
    ]


@prepared
def _heard_since(owner: Seer, reed: int, since: dt.datetime) -> QuerySet[Take, Any]:
    either = Q(reed=reed) | Q(reed__is_reference=True)
    rows = Take.objects.heard().filter(either, studio=owner.studio_id, reed__owner=owner.pk, at__gte=since)
    texts = (Cast(one, TextField()) for one in ("granted", "result"))
    return rows.values_list("pk", "reed_id", "item", "at", *texts)


def heard_of(reed: Reed, cut_at: dt.datetime | None) -> HeardOf:
    """Return what recordings told of the reed as it is now, and of the reference reed in the same sitting.

    What was recorded before something was taken off, last at `cut_at`, is of another reed.
    """
    return heard_among(_of_it_and_the_reference(reed, _last_step(reed, cut_at) - SITTING), reed, cut_at)


def heard_among(takes: Sequence[Played], reed: Reed, cut_at: dt.datetime | None) -> HeardOf:
    """Return the same from takes at hand: all that were heard of both reeds in that while, or more."""
    since = _last_step(reed, cut_at)
    all_own = [take for take in takes if take.reed_id == reed.pk and take.at >= since]
    own = _newest(all_own)
    if not own:
        return HeardOf()
    newest_take = max(take.at for take in own.values())
    others = (take for take in takes if take.reed_id != reed.pk)
    beside = _newest(take for take in others if abs(take.at - newest_take) <= SITTING)
    return HeardOf(
        {item: told_by(take, _beside(take, all_own)) for item, take in own.items()},
        {item: told_by(take) for item, take in beside.items()},
    )


def _beside(take: Played, takes: Iterable[Played]) -> list[Played]:
    """Return the other takes of the same item in the same sitting."""
    return [
        one
        for one in takes
        if one.pk != take.pk and one.item == take.item and abs(one.at - take.at) <= SITTING
    ]


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

    '' where no pitch was heard; also where one voice or two cannot be told, and where there is one alone: it
    is neither in octaves nor wild.
    """
    if not crow.pitches:
        return ""
    off = _cents_from_c(min(crow.pitches, key=lambda pitch: pitch.hz))
    if abs(off) > CROW_OFF_CENTS:
        return "flat" if off < 0 else "sharp"
    if crow.octave is None or len(crow.pitches) == 1:
        return ""
    return "octaves" if crow.octave else "wild"


def _cents_from_c(pitch: CrowPitch) -> float:
    return 100.0 * FROM_C[pitch.name.rstrip("0123456789-")] + pitch.cents.value
