"""Recordings of a playing test: kept, taken back, and turned into what the checks read."""

from __future__ import annotations

import datetime as dt
import statistics
import uuid
from collections.abc import Iterable, Mapping
from functools import partial
from typing import Any

from django.core.files import File
from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from reeds.checks.facts import Reading, Told
from reeds.listening import listen
from reeds.measured import Measured
from reeds.models import Reed, Take
from reeds.playing_items import PlayingItem
from reeds.sound.quality import TOO_NOISY
from reeds.vocabulary import Method, Moisture, Stage
from studio.errors import NotPossible
from studio.models import Member

MAX_BYTES = 25 * 1024 * 1024
SITTING = dt.timedelta(hours=6)
CROW_OFF_CENTS = 50.0
EXTENSIONS = {
    "audio/mp4": ".m4a",
    "audio/x-m4a": ".m4a",
    "audio/aac": ".aac",
    "video/mp4": ".mp4",
    "audio/webm": ".webm",
    "video/webm": ".webm",
    "audio/ogg": ".ogg",
    "application/ogg": ".ogg",
    "audio/mpeg": ".mp3",
    "audio/wav": ".wav",
    "audio/x-wav": ".wav",
    "audio/wave": ".wav",
    "audio/flac": ".flac",
    "audio/x-flac": ".flac",
}
GRANTED = ("autoGainControl", "noiseSuppression", "echoCancellation")


def granted_of(given: Mapping[str, Any]) -> dict[str, bool | None]:
    """Return what the browser said of its own processing; whatever is not a plain yes or no is unknown."""
    return {name: given[name] if isinstance(given.get(name), bool) else None for name in GRANTED}


def cannot_tell_level(granted: Mapping[str, bool | None]) -> bool:
    """Whether level, range and soft attacks cannot be told: some processing was on, or nobody knows."""
    return any(granted.get(name) is not False for name in GRANTED)


def add_take(
    reed: Reed,
    by: Member,
    upload: File[bytes],
    key: uuid.UUID,
    item: PlayingItem,
    granted: dict[str, bool | None],
) -> Take:
    """Keep a recording and have the worker listen to it; the same key twice keeps one."""
    if not by.may_send_pictures:
        raise NotPossible(_("Recordings can be sent once your teacher has noted your guardian's consent."))
    there = Take.objects.filter(reed=reed, key=key).first()
    if there:
        return there
    _check(upload)
    content_type = str(getattr(upload, "content_type", "") or "").split(";")[0].lower()
    take = Take(studio_id=reed.studio_id, reed=reed, by=by, key=key, item=item.key, granted=granted)
    take.notes, take.tempo, take.a4_hz = list(item.notes), item.tempo, reed.studio.a4_hz
    take.size_bytes, take.content_type = upload.size, content_type if content_type in EXTENSIONS else ""
    take.file.save(f"take{EXTENSIONS.get(content_type, '.bin')}", upload, save=False)
    try:
        return _with_row(take)
    except IntegrityError:  # the same recording came a second time meanwhile
        take.file.storage.delete(str(take.file.name))
        return Take.objects.get(reed=reed, key=key)
    except BaseException:
        take.file.storage.delete(str(take.file.name))
        raise


def _check(upload: File[bytes]) -> None:
    if not upload.size:
        raise NotPossible(_("This recording is empty. Record it again."))
    if upload.size > MAX_BYTES:
        raise NotPossible(_("This recording is larger than 25 MB. At most three minutes can be sent."))


@transaction.atomic
def _with_row(take: Take) -> Take:
    take.save(force_insert=True)
    transaction.on_commit(lambda: listen.enqueue(take.pk))
    return take


@transaction.atomic
def take_back(take: Take) -> None:
    """Take a recording back: its row stays so that its key is not used again, its file goes."""
    name = str(take.file.name)
    Take.objects.filter(pk=take.pk).update(taken_back_at=timezone.now(), file="", result={}, tracks={})
    if name:
        transaction.on_commit(partial(take.file.storage.delete, name))


@transaction.atomic
def name_reference(reed: Reed) -> None:
    """Make this the good reed that the player's recordings are compared with."""
    Reed.objects.filter(owner=reed.owner_id, is_reference=True).update(is_reference=False)
    Reed.objects.filter(pk=reed.pk).update(is_reference=True)


def told_by(take: Take) -> Told:
    """Return what one take told, as the checks read it."""
    item = take.result.get("item") or {}
    notes = [note for note in take.result.get("notes", []) if note.get("response_ms") is not None]
    hidden = cannot_tell_level(take.granted)  # soft attacks may have been cut off by the phone
    return Told(
        asked=item.get("asked"),
        spoke=item.get("spoke"),
        response_ms=None if hidden or not notes else _median_response(notes),
        too_noisy=TOO_NOISY in take.result.get("warnings", []),
    )


def _median_response(notes: list[dict[str, Any]]) -> Measured:
    values = [note["response_ms"] for note in notes]
    doubts = [note.get("response_standard_uncertainty_ms") or 0.0 for note in notes]
    return Measured(statistics.median(values), statistics.median(doubts))


def newest_of_each(takes: Iterable[Take]) -> dict[str, Take]:
    """Return the newest take that was heard of each item."""
    return {take.item: take for take in sorted(takes, key=lambda take: take.at) if take.is_ready}


def reference_takes(reed: Reed, moment: dt.datetime) -> dict[str, Take]:
    """Return what the player's reference reed gave in the same sitting."""
    rows = (
        Take.objects.heard().filter(reed__owner=reed.owner_id, reed__is_reference=True).exclude(reed=reed.pk)
    )
    return newest_of_each(rows.filter(at__gte=moment - SITTING, at__lte=moment + SITTING))


def readings_of(take: Take) -> list[Reading]:
    """Return what a take says of the registry's quantities: the tuning note's cents, the crow."""
    if TOO_NOISY in take.result.get("warnings", []):
        return []
    item = take.result.get("item") or {}
    if take.item == "tuning" and item.get("cents") is not None:
        measured = Measured(item["cents"], item.get("cents_standard_uncertainty") or 0.0)
        return [_reading(take, "a4_cents", measured=measured)]
    if take.item == "crow" and item.get("pitches"):
        return [_reading(take, "crow", choice=_crow(item))]
    return []


def _reading(take: Take, quantity: str, measured: Measured | None = None, choice: str = "") -> Reading:
    return Reading(
        quantity=quantity,
        measured=measured,
        choice=choice,
        method=Method.RECORDING,
        moisture=Moisture.WET,
        when=take.at,
        stage=Stage(take.reed.stage),
        batch=f"take {take.pk}",
    )


def _crow(item: Mapping[str, Any]) -> str:
    """Where the crow lies beside C in octaves: the lowest pitch's distance from the nearest C decides."""
    lowest = min(item["pitches"], key=lambda pitch: pitch["hz"])
    off = _cents_from_c(lowest)
    if abs(off) > CROW_OFF_CENTS:
        return "flat" if off < 0 else "sharp"
    return "octaves" if item.get("octave") else "wild"


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
