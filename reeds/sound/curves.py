"""Pitch and level over time, thinned for drawing, with a labelled span for each note."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from reeds.sound.heard import HeardNote
from reeds.sound.notes import hz_of_note, parse_note
from reeds.sound.tracks import HOP_S, Tracks

_FINEST_S = 0.01


@dataclass(frozen=True)
class LabelledSpan:
    """Where a note lies on the time axis and what to write there.

    Attributes
    ----------
    start_s, end_s : float
        Seconds from the start of the take.
    label : str
        The note's name; for one that did not speak, the note that was asked for; '' for air alone.
    sounded : bool
        Whether it spoke.
    """

    start_s: float
    end_s: float
    label: str
    sounded: bool


@dataclass(frozen=True)
class Curves:
    """What to draw of a take.

    Attributes
    ----------
    step_s : float
        Seconds from one point to the next; the first point lies at half a step.
    cents : list of float or None
        Pitch against the name of the note it belongs to; None where no note sounds.
    level_db : list of float
        Loudest level of each step, dB re full scale.
    spans : list of LabelledSpan
        In order of time.
    """

    step_s: float
    cents: list[float | None]
    level_db: list[float]
    spans: list[LabelledSpan]


def curves_of(tracks: Tracks, notes: Sequence[HeardNote], a4_hz: float, points: int = 1200) -> Curves:
    """Return the curves of a take in at most `points` steps, none finer than 10 ms.

    Parameters
    ----------
    tracks : Tracks
        Level and pitch, every 2.5 ms.
    notes : sequence of HeardNote
        What was heard, or what was asked for; entries without a time are left out.
    a4_hz : float
        The studio's A in hertz.
    points : int
        1 or more.
    """
    every = max(round(_FINEST_S / HOP_S), int(np.ceil(len(tracks.t_s) / points)))
    cents = np.full(len(tracks.t_s), np.nan)
    spans = []
    for note in notes:
        if note.start_s is None or note.end_s is None:
            continue
        spans.append(LabelledSpan(note.start_s, note.end_s, note.name or "", note.sounded))
        if note.sounded and note.name is not None:
            part = slice(round(note.start_s / HOP_S), round(note.end_s / HOP_S))
            hz, target = tracks.hz[part], hz_of_note(parse_note(note.name), a4_hz)
            cents[part] = np.where(hz > 0, 1200.0 * np.log2(np.maximum(hz, 1.0) / target), np.nan)
    starts = range(0, len(cents), every)
    return Curves(
        every * HOP_S,
        [_middle(cents[i : i + every]) for i in starts],
        [round(float(tracks.level_db[i : i + every].max()), 1) for i in starts],
        spans,
    )


def _middle(cents: np.ndarray) -> float | None:
    heard = cents[~np.isnan(cents)]
    return round(float(np.median(heard)), 2) if 2 * len(heard) >= len(cents) else None
