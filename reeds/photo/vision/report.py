"""Measured figures as plain JSON types, for the shell and for the page."""

from __future__ import annotations

from collections.abc import Mapping

from reeds.numbers.measured import Measured
from reeds.photo.vision.lengths import LANDMARKS, LENGTHS, Points
from reeds.photo.vision.opening import OpeningFigures

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


def opening_report(found: OpeningFigures) -> dict[str, object]:
    """Return an opening's figures by name; those in mm are null where the tip's width is unknown."""
    return {
        "height_ratio": figure(found.height_ratio, "1"),
        "unevenness": figure(found.unevenness, "1"),
        "left_height_ratio": figure(found.left_height_ratio, "1"),
        "right_height_ratio": figure(found.right_height_ratio, "1"),
        "height_mm": figure(found.height_mm, "mm"),
        "width_mm": figure(found.width_mm, "mm"),
        "area_mm2": figure(found.area_mm2, "mm2"),
    }


def landmarks_report(points: Points) -> dict[str, object]:
    """Return every landmark by name as [x, y] in pixels; null where it is not sure."""
    return {n: [round(float(v), 3) for v in points[n]] if n in points else None for n in LANDMARKS}
