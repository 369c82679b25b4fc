"""Figures of a recording in words, each with its doubt: cents, milliseconds, what an item as a whole gave."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from reeds.numbers.measured import Measured, rounded
from reeds.take.sound.heard import Also, Crow, Heard, Item, LongTone, NotesSpoken, Staccato, Tuning
from reeds.wording import notes_in_words
from studio.numerals import for_eyes


def number_words(value: float, decimals: int, *, sign: bool = False) -> str:
    """Return a number as the reader writes it, with + where asked; a rounded nought has no sign."""
    rounded = round(value, decimals)
    return ("+" if sign and rounded > 0 else "") + for_eyes(rounded or 0.0, decimals)


def with_u(measured: Measured | None, *, sign: bool = False, most: int = 1) -> str:
    """Return value and doubt (k = 1), with at most `most` decimals; '' for none."""
    if measured is None:
        return ""
    shown, decimals = rounded(measured, 0, most)
    value = number_words(shown.value, decimals, sign=sign)
    return f"{value} ± {number_words(shown.u, decimals)}" if shown.u else value


def cents_words(measured: Measured | None) -> str:
    """Return a pitch or a difference of pitch in cents, with its sign."""
    return with_u(measured, sign=True)


def ms_words(measured: Measured | None, *, sign: bool = False) -> str:
    """Return a time in whole milliseconds."""
    return with_u(measured, sign=sign, most=0)


def also_words(heard: Heard) -> list[str]:
    """Return what else is heard, one sentence each; how far all notes lie from the list, where they do."""
    said = [_("Also heard: %(what)s.") % {"what": _also(one)} for one in heard.also]
    if heard.moved_cents is not None:
        cents = number_words(heard.moved_cents, 0, sign=True)
        said.append(_("All notes lie about %(cents)s cents from those asked.") % {"cents": cents})
    return said


def _also(one: Also) -> str:
    if one.hz is not None:
        return _("a steady tone of %(hz)s Hz besides") % {"hz": number_words(one.hz, 0)}
    when = {"start": _clock(one.start_s), "end": _clock(one.end_s)}
    if one.kind == "clicks":
        return _("clicks or knocks from %(start)s to %(end)s") % when
    return _("voices or music from %(start)s to %(end)s") % when


def _clock(seconds: float) -> str:
    """0:07, as a player shows it."""
    minutes, rest = divmod(int(seconds), 60)
    return f"{minutes}:{rest:02d}"


def item_words(told: Item | None, other: Item | None, *, hides_level: bool) -> list[str]:
    """Return what an item as a whole gave, one sentence each; what differs from the reference comes first."""
    match told:
        case NotesSpoken():
            return _notes(told, other)
        case Staccato():
            return _staccato(told)
        case LongTone():
            return [] if hides_level else _long_tone(told, other)
        case Tuning():
            return _tuning(told, other)
        case Crow():
            return _crow(told)
        case None:
            return []


def _tuning(told: Tuning, other: Item | None) -> list[str]:
    if told.cents is None:
        return []
    said = [_("%(cents)s cents against the studio's A") % {"cents": cents_words(told.cents)}]
    if isinstance(other, Tuning) and other.cents is not None:
        beside = cents_words(told.cents - other.cents)
        said.insert(0, _("%(cents)s cents beside your reference reed") % {"cents": beside})
    return said


def _notes(told: NotesSpoken, other: Item | None) -> list[str]:
    if not told.asked:
        return []
    said = [_spoke(told)]
    if isinstance(other, NotesSpoken) and other.asked:
        said.insert(0, _("reference reed: %(spoke)s") % {"spoke": _spoke(other)})
    return said


def _spoke(told: NotesSpoken) -> str:
    return _("%(spoke)d of %(asked)d notes spoke") % {"spoke": told.spoke, "asked": told.asked}


def _staccato(told: Staccato) -> list[str]:
    said = [ngettext("%(n)d note", "%(n)d notes", told.count) % {"n": told.count}]
    if told.rate_per_s is not None:
        said.append(_("%(rate)s a second") % {"rate": with_u(told.rate_per_s, most=2)})
    if told.interval_cv is not None:
        share = with_u(told.interval_cv * 100.0)
        said.append(_("intervals vary by %(share)s %%") % {"share": share})
    if told.failed:
        failed = ngettext("%(n)d attack failed", "%(n)d attacks failed", told.failed)
        said.append(failed % {"n": told.failed})
    return said


def _long_tone(told: LongTone, other: Item | None) -> list[str]:
    if told.range_db is None:
        return []
    said = [_("%(db)s dB from soft to loud") % {"db": with_u(told.range_db)}]
    if isinstance(other, LongTone) and other.range_db is not None:
        more = with_u(told.range_db - other.range_db, sign=True)
        said.insert(0, _("%(db)s dB beside your reference reed") % {"db": more})
    return said


def _crow(told: Crow) -> list[str]:
    if not told.pitches:
        return [_("no pitch was heard in the crow")]
    named = ", ".join(f"{notes_in_words([pitch.name])} {cents_words(pitch.cents)}" for pitch in told.pitches)
    said = [_("%(pitches)s cents") % {"pitches": named}]
    if told.octave is None:
        said.append(_("one tone or two an octave apart cannot be told: their lines fall together"))
    else:
        said.append(_("an octave apart") if told.octave else _("no octave"))
    return said
