"""The pitches that sound together when a reed crows."""

from __future__ import annotations

from reeds.sound.heard import Item
from reeds.sound.segments import Span
from reeds.sound.tracks import Tracks


def crow_pitches(tracks: Tracks, spans: list[Span], a4_hz: float) -> Item:
    """Return ``{"pitches": [{"hz", "name", "cents"}], "octave": True, False or None}``."""
    return {"pitches": [], "octave": None}
