"""Measured figures as plain JSON types, for the shell and for the page."""

from __future__ import annotations

from collections.abc import Mapping

from reeds.measured import Measured
from reeds.photos.lengths import LANDMARKS, LENGTHS, Points

K = 2


def figure(measured: Measured | None, unit: str) -> dict[str, object] | None:
    """Return a figure with its standard and expanded uncertainty (k = 2), or None for an unknown one."""
    if measured is None:
        return None
    return {
        "value": round(measured.value, 6),
        "unit": unit,
        "standard_uncertainty": round(measured.u, 6),
        "expanded_uncertainty": round(K * measured.u, 6),
        "k": K,
    }


def lengths_report(lengths: Mapping[str, Measured]) -> dict[str, object]:
    """Return every length by name; null where it is unknown."""
    return {name: figure(lengths.get(name), "mm") for name in LENGTHS}


def landmarks_report(points: Points) -> dict[str, object]:
    """Return every landmark by name as [x, y] in pixels; null where it is not sure."""
    return {n: [round(float(v), 3) for v in points[n]] if n in points else None for n in LANDMARKS}
