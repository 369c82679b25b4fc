"""Rounds what was heard, once, before anybody keeps or shows it: no figure finer than its doubt allows."""

from __future__ import annotations

import math
from dataclasses import fields, replace
from typing import Any, TypeVar

from reeds.numbers.measured import Measured
from reeds.take.sound.heard import Also, CrowPitch, Heard, HeardNote, Item, Quality

ITEM_DIGITS = 7

Flat = TypeVar("Flat", bound=Item | CrowPitch)


def as_kept(heard: Heard) -> Heard:
    """Return what was heard as it is kept: doubts to three digits, figures to a hundredth of their doubt."""
    return replace(
        heard,
        duration_s=round(heard.duration_s, 4),
        notes=tuple(_note(note) for note in heard.notes),
        item=None if heard.item is None else _digits_kept(heard.item),
        quality=_quality(heard.quality),
        also=tuple(_also(one) for one in heard.also),
        moved_cents=_to(heard.moved_cents, 0),
    )


def _also(one: Also) -> Also:
    return replace(one, start_s=round(one.start_s, 2), end_s=round(one.end_s, 2), hz=_to(one.hz, 0))


def significant(value: float, digits: int = 3) -> float:
    """Return `value` rounded to so many significant digits; 0 stays 0."""
    if value == 0:
        return value
    return round(value, digits - 1 - math.floor(math.log10(abs(value))))


def _note(note: HeardNote) -> HeardNote:
    return replace(
        note,
        start_s=_to(note.start_s, 4),
        end_s=_to(note.end_s, 4),
        cents=_figure(note.cents),
        steadiness_cents=_figure(note.steadiness_cents),
        drift_cents_per_s=_figure(note.drift_cents_per_s),
        response_ms=_figure(note.response_ms),
        level_db=_figure(note.level_db),
    )


def _figure(measured: Measured | None) -> Measured | None:
    """To a hundredth of the doubt, so that rounding adds none."""
    if measured is None or measured.u <= 0:
        return measured
    value = round(measured.value, 2 - math.floor(math.log10(measured.u)))
    return Measured(value, significant(measured.u))


def _quality(quality: Quality) -> Quality:
    low_hz, high_hz = quality.band_hz or (None, None)
    return replace(
        quality,
        snr_db=_to(quality.snr_db, 1),
        noise_db=_to(quality.noise_db, 1),
        band_hz=None if low_hz is None or high_hz is None else (round(low_hz), round(high_hz)),
    )


def _to(value: float | None, decimals: int) -> float | None:
    return None if value is None else round(value, decimals)


def _digits_kept(record: Flat) -> Flat:
    """The same record with seven digits of every number that is no count."""
    kept: dict[str, Any] = {one.name: _digits(getattr(record, one.name)) for one in fields(record)}
    return replace(record, **kept)


def _digits(value: object) -> object:
    if isinstance(value, Measured):
        return Measured(significant(value.value, ITEM_DIGITS), significant(value.u, ITEM_DIGITS))
    if isinstance(value, CrowPitch):
        return _digits_kept(value)
    if isinstance(value, tuple):
        return tuple(_digits(inner) for inner in value)
    return significant(value, ITEM_DIGITS) if isinstance(value, float) else value
