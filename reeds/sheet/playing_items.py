"""The playing test of a measuring sheet: what is played, in which order, which notes, how fast."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from reeds.numbers.notes import MAY_BE_TWO, NotANoteError, called, note_name, parse_note, read_note
from reeds.numbers.words import PLAYING_TEST, Refused
from reeds.numbers.words import gettext_noop as _

SLOWEST, FASTEST = 30, 208
MOST_NOTES = 24

UNKNOWN = _("There is no such item in a playing test.")
TWICE = _("An item stands in the test twice.")
TEMPO = _(
    "A tempo lies between %(slowest)s and %(fastest)s beats a minute: type a whole number, or leave it empty."
)
NOTES = _("Name up to %(most)s notes, each once played, such as %(example)s.")
NOT_A_NOTE = _(
    "“%(typed)s” is no note: write a letter, # or b where it wants one, and the octave, such as Bb3."
)
OUT_OF_RANGE = _("%(note)s is not on an oboe: its notes lie between %(lowest)s and %(highest)s.")
NOT_A_GERMAN_NOTE = _(
    "“%(typed)s” is no note: write its name and a stroke for each octave from c′ on, such as b, fis′ or c″."
)
ONE_NOTE = _("Name one note for this, such as %(example)s.")
NONE = _("Keep at least one item in the test.")

# from Bb3; the upper end as fingering charts commonly show it, no source
_LOWEST, _HIGHEST = parse_note("Bb3"), parse_note("A6")
# what is played on one note, and what must name it since its cents are told against it
ON_ONE_NOTE, MUST_NAME_IT = ("staccato", "long_tone", "tuning"), ("tuning",)
WITHOUT_NOTES = ("crow",)
LOW_NOTES = ("D4", "C4", "B3", "Bb3")


class PlayingItemError(Refused):
    """An item that cannot be right."""


def read_notes(typed: str, *, german: bool = False) -> tuple[str, ...]:
    """Return the notes that somebody typed, parted by commas or spaces, each spelt as the worker spells it.

    `german` is whether they call notes German. Raises PlayingItemError for what is no note of an oboe, what
    may be two, and for more than 24.
    """
    words = typed.replace(",", " ").replace(";", " ").split()
    if len(words) > MOST_NOTES:
        example = ", ".join(called(note, german=german) for note in LOW_NOTES)
        raise PlayingItemError(NOTES, most=MOST_NOTES, example=example)
    return tuple(_read_note(word, german) for word in words)


def _read_note(word: str, german: bool) -> str:
    def shown(number: int) -> str:
        return called(note_name(number), german=german)

    try:
        number = read_note(word, german=german)
    except NotANoteError as problem:
        if problem.sentence == MAY_BE_TWO:
            told = {key: shown(note) for key, note in problem.params.items() if isinstance(note, int)}
            raise PlayingItemError(MAY_BE_TWO, typed=word[:20], **told) from None
        raise PlayingItemError(NOT_A_GERMAN_NOTE if german else NOT_A_NOTE, typed=word[:20]) from None
    if not _LOWEST <= number <= _HIGHEST:
        ends = {"lowest": shown(_LOWEST), "highest": shown(_HIGHEST)}
        raise PlayingItemError(OUT_OF_RANGE, note=shown(number), **ends)
    return note_name(number)


def read_tempo(typed: str) -> int | None:
    """Return the beats a minute that somebody typed, None for nothing; PlayingItemError for all else."""
    text = typed.strip()
    if not text:
        return None
    if not (text.isascii() and text.isdigit() and len(text) < 5 and SLOWEST <= int(text) <= FASTEST):
        raise PlayingItemError(TEMPO, slowest=SLOWEST, fastest=FASTEST)
    return int(text)


def check_notes(key: str, notes: Sequence[str], *, german: bool = False) -> None:
    """Raise PlayingItemError if an item cannot be played on so many notes."""
    if (key in ON_ONE_NOTE and len(notes) > 1) or (key in MUST_NAME_IT and not notes):
        raise PlayingItemError(ONE_NOTE, example=called("A4", german=german))


@dataclass(frozen=True)
class PlayingItem:
    """One item of a playing test.

    Attributes
    ----------
    key : str
        A key of PLAYING_TEST.
    notes : tuple of str
        What is to be played, in order, such as ('D4', 'C4'); empty where the player chooses.
    tempo : int or None
        Beats a minute; None where it does not matter.

    Raises
    ------
    PlayingItemError
        For an unknown key, a tempo outside 30 to 208, or more than 24 notes.
    """

    key: str
    notes: tuple[str, ...] = ()
    tempo: int | None = None

    def __post_init__(self) -> None:
        if self.key not in PLAYING_TEST:
            raise PlayingItemError(UNKNOWN)
        if self.tempo is not None and not SLOWEST <= self.tempo <= FASTEST:
            raise PlayingItemError(TEMPO, slowest=SLOWEST, fastest=FASTEST)
        if len(self.notes) > MOST_NOTES:
            raise PlayingItemError(NOTES, most=MOST_NOTES, example=", ".join(LOW_NOTES))

    @property
    def name(self) -> str:
        """The marked words for it."""
        return PLAYING_TEST[self.key]


# the order and the notes are common practice, no source; the tempo is from memory, no source
USUAL: tuple[PlayingItem, ...] = (
    PlayingItem("crow"),
    PlayingItem("low_notes", LOW_NOTES),
    PlayingItem("staccato", ("A4",), 80),
    PlayingItem("third_octave", ("C6", "D6")),
    PlayingItem("long_tone", ("A4",)),
    PlayingItem("tuning", ("A4",)),
)


def to_json(items: Iterable[PlayingItem]) -> list[dict[str, Any]]:
    """Return plain data that `from_json` gives back unchanged."""
    return [{"key": item.key, "notes": list(item.notes), "tempo": item.tempo} for item in items]


def from_json(rows: Sequence[Mapping[str, Any]]) -> tuple[PlayingItem, ...]:
    """Return the items stored by `to_json`; the usual ones for an empty list.

    Raises PlayingItemError if an item cannot be right or stands there twice, KeyError if it has no key.
    """
    items = tuple(PlayingItem(row["key"], tuple(row.get("notes", ())), row.get("tempo")) for row in rows)
    if len({item.key for item in items}) < len(items):
        raise PlayingItemError(TWICE)
    return items or USUAL
