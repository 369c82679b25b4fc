"""Measures one take: the notes in it, what its item asks for, and how good the recording is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from reeds.numbers.measured import Measured
from reeds.numbers.notes import (
    A4_HIGHEST_HZ,
    A4_LOWEST_HZ,
    cents_between,
    hz_of_note,
    nearest_note,
    note_name,
)
from reeds.numbers.words import gettext_noop
from reeds.take.sound.centre import centre_of
from reeds.take.sound.decode import Take
from reeds.take.sound.expect import MOST_CENTS_OFF, pair_up
from reeds.take.sound.heard import Heard, HeardNote
from reeds.take.sound.items import ITEMS, Listened
from reeds.take.sound.phase import fine_pitch
from reeds.take.sound.quality import quality_of, warnings_of
from reeds.take.sound.segments import Span, noise_floor_db, spans_of
from reeds.take.sound.settle import settled_part
from reeds.take.sound.tracks import HOP_S, Tracks, tracks_of


@dataclass(frozen=True)
class _Tone:
    """One span with what was measured on it, before it has a name."""

    span: Span
    hz: float | None = None
    u_cents: float = 0.0
    steadiness_cents: Measured | None = None
    drift_cents_per_s: Measured | None = None
    response_ms: Measured | None = None
    level_db: Measured | None = None


def measure_take(
    take: Take, *, a4_hz: float = 440.0, item: str | None = None, expect: Sequence[int] | None = None
) -> Heard:
    """Measure a decoded take: `measure_with_tracks` without the tracks; same arguments, same errors."""
    return measure_with_tracks(take, a4_hz=a4_hz, item=item, expect=expect)[0]


def measure_with_tracks(
    take: Take, *, a4_hz: float = 440.0, item: str | None = None, expect: Sequence[int] | None = None
) -> tuple[Heard, Tracks]:
    """Measure a decoded take, and give the tracks to draw of it, each tone in its right octave.

    Parameters
    ----------
    take : Take
        From `reeds.take.sound.decode.decode_take`.
    a4_hz : float
        The studio's A, 415 to 446 Hz.
    item : str, optional
        Which item of the playing test this is: one of `reeds.take.sound.items.ITEMS`; without it notes only.
    expect : sequence of int, optional
        Note numbers asked for, in order; `notes` then has one entry for each.

    Raises
    ------
    ValueError
        If the A is out of range or the item unknown; the text is one sentence for people.
    """
    if not A4_LOWEST_HZ <= a4_hz <= A4_HIGHEST_HZ:
        raise ValueError(gettext_noop("The A lies between 415 and 446 Hz."))
    if item is not None and item not in ITEMS:
        raise ValueError(gettext_noop("There is no such item in a playing test."))
    plain = tracks_of(take)
    floor = noise_floor_db(plain)
    tracks, spans = spans_of(plain, floor)
    tones = [_tone(tracks, span) for span in spans]
    heard = [_named(tone, a4_hz) for tone in tones]
    asked = None if expect is None else _answers(tones, heard, list(expect), a4_hz)
    quality = quality_of(take, tracks, spans, floor)
    told = None if item is None else ITEMS[item](Listened(tracks, spans, heard, asked, floor, a4_hz))
    notes = [note for note in heard if note.sounded] if asked is None else asked
    warnings = warnings_of(quality, spans, take.cut_short)
    found = Heard(a4_hz, take.duration_s, notes, quality, told, warnings)
    return found, tracks


def _tone(tracks: Tracks, span: Span) -> _Tone:
    if not span.sounded:
        return _Tone(span)
    settled = settled_part(tracks, span)
    inside = slice(span.onset, span.end)
    fine = fine_pitch(
        tracks.samples, tracks.rate_hz, tracks.t_s[inside], tracks.hz[inside], settled.first_s, settled.last_s
    )
    if fine is None:
        return _coarse_tone(tracks, span, settled.response_ms, settled.level_db)
    uneven_s = abs(settled.first_s + settled.last_s - (span.onset + span.end) * HOP_S) / 2.0
    centre = centre_of(fine, settled.first_s, settled.last_s, uneven_s)
    return _Tone(
        span,
        fine.reference_hz * 2.0 ** (centre.cents.value / 1200.0),
        centre.cents.u,
        centre.steadiness_cents,
        centre.drift_cents_per_s,
        settled.response_ms,
        settled.level_db,
    )


def _coarse_tone(tracks: Tracks, span: Span, response: Measured | None, level_db: Measured) -> _Tone:
    """A tone too short for its phase to be followed: Praat's median, with a doubt of 10 cents."""
    heard = tracks.hz[span.onset : span.end]
    return _Tone(span, float(np.median(heard[heard > 0])), 10.0, None, None, response, level_db)


def _named(tone: _Tone, a4_hz: float) -> HeardNote:
    if tone.hz is None:
        return HeardNote(tone.span.start * HOP_S, tone.span.end * HOP_S, sounded=False)
    return _note(tone, tone.hz, nearest_note(tone.hz, a4_hz), a4_hz)


def _note(tone: _Tone, hz: float, number: int, a4_hz: float) -> HeardNote:
    return HeardNote(
        tone.span.start * HOP_S,
        tone.span.end * HOP_S,
        sounded=True,
        name=note_name(number),
        hz=hz,
        cents=Measured(cents_between(hz, hz_of_note(number, a4_hz)), tone.u_cents),
        steadiness_cents=tone.steadiness_cents,
        drift_cents_per_s=tone.drift_cents_per_s,
        response_ms=tone.response_ms,
        level_db=tone.level_db,
    )


def _answers(tones: list[_Tone], heard: list[HeardNote], expect: list[int], a4_hz: float) -> list[HeardNote]:
    """One entry for each expected note, in order."""
    wanted = [100.0 * number for number in expect]
    sung = [None if tone.hz is None else 6900.0 + cents_between(tone.hz, a4_hz) for tone in tones]
    pairs = pair_up(wanted, sung)
    return [
        _answer(None if pair is None else tones[pair], None if pair is None else heard[pair], number, a4_hz)
        for number, pair in zip(expect, pairs, strict=True)
    ]


def _answer(tone: _Tone | None, heard: HeardNote | None, number: int, a4_hz: float) -> HeardNote:
    if tone is None or heard is None:
        return HeardNote(None, None, sounded=False, name=note_name(number))
    if tone.hz is not None and abs(cents_between(tone.hz, hz_of_note(number, a4_hz))) <= MOST_CENTS_OFF:
        return _note(tone, tone.hz, number, a4_hz)
    return HeardNote(heard.start_s, heard.end_s, sounded=False, name=note_name(number), heard=heard.name)
