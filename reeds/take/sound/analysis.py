"""Analyses one recording: the notes in it, what its item asks for, and how good the recording is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

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
from reeds.numbers.words import Refused, gettext_noop
from reeds.take.sound.alignment import Alignment, aligned, is_answer
from reeds.take.sound.besides import Around, Blown, around
from reeds.take.sound.crow import crows_of
from reeds.take.sound.heard import STANDARD_A4_HZ, Also, Heard, HeardNote
from reeds.take.sound.items import ITEMS, Analysis
from reeds.take.sound.mean_pitch import mean_pitch
from reeds.take.sound.phase import fine_pitch
from reeds.take.sound.players import could_be_notes, loud_ones
from reeds.take.sound.quality import (
    ELSE_SOUNDS,
    ELSE_TO_COUNT,
    HIGHER,
    LOWER,
    ORDER,
    RINGS,
    RINGS_TO_COUNT,
    quality_of,
    warnings_of,
)
from reeds.take.sound.ringing import ringing_s
from reeds.take.sound.rounding import as_kept
from reeds.take.sound.segments import noise_floor_db, segments_of, unparted
from reeds.take.sound.settle import settled_part
from reeds.take.sound.signals import HOP_S, Segment, Tracks, Waveform
from reeds.take.sound.strokes import Strokes, is_disturbed, rings_too_long, strokes_of
from reeds.take.sound.tracks import tracks_of

# of a tone too short for its phase to be followed, calibrated
_COARSE_U_CENTS = 10.0
# calibrated: in a room that rings longer the tone that settles is the room's
_RINGS_S = 0.72
# a tone so long is no stroke, nor is it talk
_NO_STROKE_S = 0.5
# these ask for one tone, which nobody tongues again
_ONE_TONE = ("long_tone", "tuning")
# an oboe has no lower note than Bb3, however low it is tuned: what lies so far under it is no note of its
_LOWEST_NOTE, _BELOW_LOWEST_CENTS = 58, 75.0


@dataclass(frozen=True)
class _Tone:
    """One segment with what was measured on it, before it has a name; all None where only air was heard."""

    segment: Segment
    hz: float | None = None
    u_cents: float = 0.0
    steadiness_cents: Measured | None = None
    drift_cents_per_s: Measured | None = None
    response_ms: Measured | None = None
    level_db: Measured | None = None


def analyse(
    waveform: Waveform,
    *,
    a4_hz: float = STANDARD_A4_HZ,
    item: str | None = None,
    expect: Sequence[int] | None = None,
) -> Heard:
    """Return what is heard: `analyse_with_tracks` without the tracks; same arguments, same errors."""
    return analyse_with_tracks(waveform, a4_hz=a4_hz, item=item, expect=expect)[0]


def analyse_with_tracks(
    waveform: Waveform,
    *,
    a4_hz: float = STANDARD_A4_HZ,
    item: str | None = None,
    expect: Sequence[int] | None = None,
) -> tuple[Heard, Tracks]:
    """Return what is heard, and the tracks to draw of it, each tone in its right octave.

    Parameters
    ----------
    waveform : Waveform
        From `reeds.take.sound.decode.decode_take`.
    a4_hz : float
        The studio's A, 415 to 446 Hz.
    item : str, optional
        Which item of the playing test this is: one of `reeds.take.sound.items.ITEMS`; without it notes only.
    expect : sequence of int, optional
        Note numbers asked for, in order; `notes` then has one entry for each.

    Raises
    ------
    Refused
        If the A is out of range or the item unknown.
    """
    _refuse(a4_hz, item)
    plain = tracks_of(waveform)
    floor_db = noise_floor_db(plain)
    tracks, segments = segments_of(plain, floor_db)
    segments = unparted(tracks, segments) if item in _ONE_TONE else segments
    # how soon a crow answers nobody asks
    tones = [_tone(tracks, segment, answers=item != "crow") for segment in segments]
    able = could_be_notes(tracks, segments, _lowest_hz(a4_hz))
    answered = None if expect is None else _answered(tones, able, list(expect), a4_hz)
    # a long tone fades by the player's will: that tells nothing of the room
    rings_s = 0.0 if item == "long_tone" else ringing_s(tracks, segments, floor_db) or 0.0
    rings = rings_s > _RINGS_S
    strokes = strokes_of(tracks, segments, [tone.hz for tone in tones]) if item == "staccato" else None
    blown = _crows(tracks, tones) if item == "crow" else _blown(tracks, tones, able, answered, strokes)
    airs = [one for one in segments if not one.sounded]
    beside = around(tracks, blown, rings=rings, rings_s=rings_s, airs=airs)
    also = beside.also
    told = [_with_response(tone, beside, rings or floor_db is None) for tone in tones]
    notes = [_named(tone, a4_hz) for tone in told]
    asked = None if answered is None else _answers(told, notes, list(expect or ()), answered, a4_hz)
    analysis = Analysis(
        tracks, segments, [tone.hz for tone in tones], notes, asked, floor_db, a4_hz, rings_s, strokes
    )
    quality = quality_of(waveform, tracks, segments, floor_db)
    warnings = warnings_of(quality, segments, waveform, item)
    uncounted = [] if strokes is None else _not_counted(strokes, also, rings_s, quality.snr_db)
    heard = Heard(
        a4_hz,
        waveform.duration_s,
        tuple(note for note in notes if note.sounded) if asked is None else tuple(asked),
        None if item is None or uncounted else ITEMS[item](analysis),
        quality,
        (*warnings, *uncounted, *_not_told(tones, told, beside, rings), *_not_as_asked(answered)),
        also,
        answered.shift_cents if answered is not None and answered.is_moved else None,
    )
    return as_kept(heard), tracks


def _refuse(a4_hz: float, item: str | None) -> None:
    if not A4_LOWEST_HZ <= a4_hz <= A4_HIGHEST_HZ:
        raise Refused(gettext_noop("The A lies between 415 and 446 Hz."))
    if item is not None and item not in ITEMS:
        raise Refused(gettext_noop("There is no such item in a playing test."))


def _lowest_hz(a4_hz: float) -> float:
    return float(hz_of_note(_LOWEST_NOTE, a4_hz) * 2.0 ** (-_BELOW_LOWEST_CENTS / 1200.0))


def _tone(tracks: Tracks, segment: Segment, *, answers: bool = True) -> _Tone:
    if not segment.sounded:
        return _Tone(segment)
    settled = settled_part(tracks, segment)
    inside = slice(segment.onset, segment.end)
    fine = fine_pitch(
        tracks.samples, tracks.rate_hz, tracks.t_s[inside], tracks.hz[inside], settled.first_s, settled.last_s
    )
    response = settled.response_ms if answers else None
    if fine is None:
        return _coarse_tone(tracks, segment, response, settled.level_db)
    uneven_s = abs(settled.first_s + settled.last_s - (segment.onset + segment.end) * HOP_S) / 2.0
    mean = mean_pitch(fine, settled.first_s, settled.last_s, uneven_s)
    return _Tone(
        segment,
        fine.reference_hz * 2.0 ** (mean.cents.value / 1200.0),
        mean.cents.u,
        mean.steadiness_cents,
        mean.drift_cents_per_s,
        response,
        settled.level_db,
    )


def _coarse_tone(tracks: Tracks, segment: Segment, response: Measured | None, level_db: Measured) -> _Tone:
    """A tone too short for its phase to be followed: Praat's median."""
    voiced = tracks.hz[segment.onset : segment.end]
    hz = float(np.median(voiced[voiced > 0]))
    return _Tone(segment, hz, _COARSE_U_CENTS, response_ms=response, level_db=level_db)


def _named(tone: _Tone, a4_hz: float) -> HeardNote:
    if tone.hz is None:
        return HeardNote(tone.segment.start * HOP_S, tone.segment.end * HOP_S, sounded=False)
    return _note(tone, tone.hz, nearest_note(tone.hz, a4_hz), a4_hz)


def _note(tone: _Tone, hz: float, number: int, a4_hz: float) -> HeardNote:
    return HeardNote(
        tone.segment.start * HOP_S,
        tone.segment.end * HOP_S,
        sounded=True,
        name=note_name(number),
        cents=Measured(cents_between(hz, hz_of_note(number, a4_hz)), tone.u_cents),
        steadiness_cents=tone.steadiness_cents,
        drift_cents_per_s=tone.drift_cents_per_s,
        response_ms=tone.response_ms,
        level_db=tone.level_db,
    )


def _answered(tones: list[_Tone], able: list[bool], expect: list[int], a4_hz: float) -> Alignment:
    """Lay the list beside the segments that may be notes, and beside those of air alone."""
    wanted = [100.0 * number for number in expect]
    used = [place for place, tone in enumerate(tones) if able[place] or tone.hz is None]
    found = aligned(wanted, [_midi_cents(tones[place].hz, a4_hz) for place in used])
    return replace(found, places=[None if place is None else used[place] for place in found.places])


def _midi_cents(hz: float | None, a4_hz: float) -> float | None:
    return None if hz is None else 6900.0 + cents_between(hz, a4_hz)


def _not_counted(strokes: Strokes, also: Sequence[Also], rings_s: float, snr_db: float | None) -> list[str]:
    """Why strokes cannot be counted, where they cannot."""
    if rings_too_long(strokes, rings_s):
        return [RINGS_TO_COUNT]
    others = any(one.kind != "clicks" for one in also)
    clicks = any(one.kind == "clicks" for one in also)
    disturbed = is_disturbed(strokes, something_else=others, snr_db=snr_db, clicks=clicks)
    return [ELSE_TO_COUNT] if disturbed else []


def _row_of(tones: list[_Tone], strokes: Strokes) -> list[Blown]:
    """The player's strokes as one long note, and beside it what is too long for one."""
    known = [one.hz for one in tones if one.hz is not None]
    first, last = strokes.onsets_s[:1], strokes.ends_s[-1:]
    row = [Blown(float(first[0]) - 0.05, float(last[0]), float(np.median(known)))] if len(first) else []
    return row + [
        Blown(one.segment.start * HOP_S, one.segment.end * HOP_S, one.hz)
        for one in tones
        if one.hz is not None and one.segment.end - one.segment.onset > _NO_STROKE_S / HOP_S
    ]


def _crows(tracks: Tracks, tones: list[_Tone]) -> list[Blown]:
    """Each crow as one long note of its lowest pitch."""
    hz = {tone.segment: tone.hz for tone in tones if tone.hz is not None}
    return [
        Blown(own[0].start * HOP_S, own[-1].end * HOP_S, min(hz[piece] for piece in own))
        for own in crows_of(tracks, [tone.segment for tone in tones])
    ]


def _blown(
    tracks: Tracks,
    tones: list[_Tone],
    able: list[bool],
    answered: Alignment | None,
    strokes: Strokes | None,
) -> list[Blown]:
    """The player's notes, so far as they bear on what lies beside them."""
    if strokes is not None:
        return _row_of(tones, strokes)
    asked = set() if answered is None else set(answered.places)
    loud = loud_ones(tracks, [tone.segment for tone in tones], able)
    return [
        Blown(tone.segment.start * HOP_S, tone.segment.end * HOP_S, tone.hz)
        for place, tone in enumerate(tones)
        if tone.hz is not None and (loud[place] or (able[place] and place in asked))
    ]


def _with_response(tone: _Tone, beside: Around, is_hidden: bool) -> _Tone:
    """The tone without its response where that is not the player's alone, or no quiet comes before it."""
    alone = beside.is_alone(tone.segment.start * HOP_S, tone.segment.onset * HOP_S)
    return tone if alone and not is_hidden else replace(tone, response_ms=None)


def _not_told(tones: list[_Tone], told: list[_Tone], beside: Around, rings: bool) -> list[str]:
    """Why a response is not told: what else sounds first. That there is no pause is said with the noise."""
    lost = any(one.response_ms != other.response_ms for one, other in zip(tones, told, strict=True))
    why = ((ELSE_SOUNDS, beside.also or beside.is_restless), (RINGS, rings))
    return [sentence for sentence, applies in why if applies][:1] if lost else []


def _not_as_asked(answered: Alignment | None) -> list[str]:
    if answered is None:
        return []
    moved = HIGHER if answered.shift_cents > 0 else LOWER
    return [*([moved] if answered.is_moved else []), *([ORDER] if answered.swapped else [])]


def _answers(
    tones: list[_Tone], notes: list[HeardNote], expect: list[int], answered: Alignment, a4_hz: float
) -> list[HeardNote]:
    """One entry for each expected note, in order."""
    return [
        HeardNote(None, None, sounded=False, name=note_name(number))
        if place is None
        else _answer(tones[place], notes[place], number, len(expect), answered, a4_hz)
        for number, place in zip(expect, answered.places, strict=True)
    ]


def _answer(
    tone: _Tone, note: HeardNote, number: int, count: int, answered: Alignment, a4_hz: float
) -> HeardNote:
    """What answers one note: it, or what sounded in its place. Where all are moved, what they are."""
    cents = _midi_cents(tone.hz, a4_hz)
    if tone.hz is None or cents is None or not is_answer(cents, 100.0 * number, count, answered.shift_cents):
        return HeardNote(note.start_s, note.end_s, sounded=False, name=note_name(number), heard=note.name)
    return note if answered.is_moved else _note(tone, tone.hz, number, a4_hz)
