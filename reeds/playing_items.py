"""The playing test of a measuring sheet: what is played, in which order, which notes, how fast."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from reeds.checks.heard import PLAYING_TEST
from reeds.words import gettext_noop as _

SLOWEST, FASTEST = 30, 208
MOST_NOTES = 24

UNKNOWN = _("There is no such item in a playing test.")
TWICE = _("An item stands in the test twice.")
TEMPO = _("A tempo lies between 30 and 208 a minute.")
NOTES = _("Name up to 24 notes, each once played, such as D4, C4, B3, Bb3.")


class PlayingItemError(ValueError):
    """An item that cannot be right; the message is one marked sentence."""


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
            raise PlayingItemError(TEMPO)
        if len(self.notes) > MOST_NOTES:
            raise PlayingItemError(NOTES)

    @property
    def name(self) -> str:
        """The marked words for it."""
        return PLAYING_TEST[self.key]


# the order and the notes are common practice, no source; the tempo is from memory, no source
USUAL: tuple[PlayingItem, ...] = (
    PlayingItem("crow"),
    PlayingItem("low_notes", ("D4", "C4", "B3", "Bb3")),
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
