"""What is done with a recording in a process of its own: bytes and plain values in, plain values out."""

from __future__ import annotations

import io
from typing import Any

from reeds.numbers.notes import parse_note
from reeds.numbers.words import Refused, gettext_noop
from reeds.take.sound.analysis import analyse_with_tracks
from reeds.take.sound.contours import contours_of
from reeds.take.sound.decode import decode_take
from reeds.take.sound.encode import as_mp3
from reeds.take.sound.remux import mp3_beside, plain_copy
from reeds.take.sound.signals import Waveform
from reeds.take.sound.stored import contours_to_json, heard_to_json

TOO_LONG = gettext_noop("This recording is longer than two minutes. Record a shorter one.")
# on one repeated note the count and the evenness are the item's, so none is expected by name
WITHOUT_NAMES = ("staccato", "crow", "long_tone")


def hear(data: bytes, a4_hz: float, item: str, notes: list[str]) -> dict[str, Any]:
    """Return the copy that is served, what was heard and what is drawn of it.

    Parameters
    ----------
    data : bytes
        The upload.
    a4_hz : float
        The studio's A, Hz.
    item : str
        What was played, a key of PLAYING_TEST.
    notes : list of str
        The notes asked for, as written.

    Returns
    -------
    dict
        copy (data, suffix, content_type) and mp3 (None where the copy plays everywhere), result and tracks as
        they are stored.

    Raises
    ------
    Refused
        A file that is no usable recording, or a note that is none.
    """
    source = io.BytesIO(data)
    waveform = decode_take(source)
    copies = _copies(source, waveform)
    expect = [parse_note(note) for note in notes] or None
    wanted = None if item in WITHOUT_NAMES else expect
    heard, tracks = analyse_with_tracks(waveform, a4_hz=a4_hz, item=item, expect=wanted)
    return {**copies, "result": heard_to_json(heard), "tracks": contours_to_json(contours_of(tracks))}


def keep_sound(data: bytes, longest_s: float) -> dict[str, Any]:
    """Return the copies of a recording, as of `hear`, and its length in seconds.

    Raises
    ------
    Refused
        A file that is no usable recording, or one that is longer.
    """
    source = io.BytesIO(data)
    waveform = decode_take(source)
    seconds = len(waveform.samples) / waveform.rate_hz
    if seconds > longest_s + 1.0:
        raise Refused(TOO_LONG)
    return {**_copies(source, waveform), "seconds": round(seconds, 1)}


def mp3_of(data: bytes) -> bytes:
    """Return the sound of a copy that was kept before there was an MP3 beside it.

    Raises
    ------
    Refused
        A file that is no recording.
    """
    return as_mp3(decode_take(io.BytesIO(data)))


def _copies(source: io.BytesIO, waveform: Waveform) -> dict[str, Any]:
    copy = plain_copy(source, waveform)
    return {"copy": vars(copy), "mp3": mp3_beside(copy, waveform)}
