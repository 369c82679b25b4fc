"""Figures of a recording in words, each with its doubt: cents, milliseconds, what an item as a whole gave."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from reeds.numbers.measured import Measured, rounded

Item = Mapping[str, Any]


def number_words(value: float, decimals: int, *, sign: bool = False) -> str:
    """Return a number as the reader writes it, with + where asked; a rounded nought has no sign."""
    rounded = round(value, decimals)
    text = number_format(abs(rounded), decimals)
    before = "\N{MINUS SIGN}" if rounded < 0 else "+" if sign and rounded > 0 else ""
    return before + text


def with_u(measured: Measured | None, *, sign: bool = False, most: int = 1) -> str:
    """Return value and doubt (k = 1), with at most `most` decimals; '' for none."""
    if measured is None:
        return ""
    shown, decimals = rounded(measured, 0, most)
    value = number_words(shown.value, decimals, sign=sign)
    return f"{value} ± {number_words(shown.u, decimals)}" if shown.u else value


def figure(told: Item, name: str) -> Measured | None:
    """Return a figure with its doubt, as `sound.heard.beside` names them; None where there is none."""
    value, u = told.get(name), told.get(f"{name}_standard_uncertainty")
    return None if value is None else Measured(value, u or 0.0)


def cents_words(measured: Measured | None) -> str:
    """Return a pitch or a difference of pitch in cents, with its sign."""
    return with_u(measured, sign=True)


def ms_words(measured: Measured | None, *, sign: bool = False) -> str:
    """Return a time in whole milliseconds."""
    return with_u(measured, sign=sign, most=0)


def item_words(item: str, told: Item, other: Item, *, hides_level: bool) -> list[str]:
    """Return what an item as a whole gave, one sentence each; what differs from the reference comes first."""
    if item == "long_tone" and hides_level:
        return []
    say = _ITEMS.get(item)
    return say(told, other) if say and told else []


def _tuning(told: Item, other: Item) -> list[str]:
    own, reference = figure(told, "cents"), figure(other, "cents")
    if own is None:
        return []
    said = [_("%(cents)s cents against the studio's A") % {"cents": cents_words(own)}]
    if reference is not None:
        beside = cents_words(own - reference)
        said.insert(0, _("%(cents)s cents beside your reference reed") % {"cents": beside})
    return said


def _notes(told: Item, other: Item) -> list[str]:
    if not told.get("asked"):
        return []
    said = [_spoke(told)]
    if other.get("asked"):
        said.insert(0, _("reference reed: %(spoke)s") % {"spoke": _spoke(other)})
    return said


def _spoke(told: Item) -> str:
    return _("%(spoke)d of %(asked)d notes spoke") % {"spoke": told["spoke"], "asked": told["asked"]}


def _staccato(told: Item, other: Item) -> list[str]:
    said = [ngettext("%(n)d note", "%(n)d notes", told["count"]) % {"n": told["count"]}]
    rate, spread = figure(told, "rate_per_s"), figure(told, "interval_cv")
    if rate is not None:
        said.append(_("%(rate)s a second") % {"rate": with_u(rate, most=2)})
    if spread is not None:
        share = with_u(spread * 100.0)
        said.append(_("intervals vary by %(share)s %%") % {"share": share})
    failed = told.get("failed") or 0
    if failed:
        said.append(ngettext("%(n)d attack failed", "%(n)d attacks failed", failed) % {"n": failed})
    return said


def _long_tone(told: Item, other: Item) -> list[str]:
    own, reference = figure(told, "range_db"), figure(other, "range_db")
    if own is None:
        return []
    said = [_("%(db)s dB from soft to loud") % {"db": with_u(own)}]
    if reference is not None:
        more = with_u(own - reference, sign=True)
        said.insert(0, _("%(db)s dB beside your reference reed") % {"db": more})
    return said


def _crow(told: Item, other: Item) -> list[str]:
    pitches = told.get("pitches") or []
    if not pitches:
        return [_("no pitch was heard in the crow")]
    named = ", ".join(f"{one['name']} {cents_words(figure(one, 'cents'))}" for one in pitches)
    said = [_("%(pitches)s cents") % {"pitches": named}]
    octave = told.get("octave")
    if octave is None:
        said.append(_("one tone or two an octave apart cannot be told: their lines fall together"))
    else:
        said.append(_("an octave apart") if octave else _("no octave"))
    return said


_ITEMS: dict[str, Callable[[Item, Item], list[str]]] = {
    "tuning": _tuning,
    "low_notes": _notes,
    "third_octave": _notes,
    "staccato": _staccato,
    "long_tone": _long_tone,
    "crow": _crow,
}
