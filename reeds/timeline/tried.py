"""What figures of photos and recordings were tried on, and how they came out: 'How sure is it?' shows it.

The one place for these figures. `make accuracy` measures them anew, and its last table, that of
`tests.accuracy.table`, fails where what stands here is no longer what comes out.
"""

from __future__ import annotations

from dataclasses import dataclass

from reeds.numbers.words import gettext_noop as _

TRIED_ON = "2026-11-28"


@dataclass(frozen=True)
class TriedPhotos:
    """Errors of lengths or ratios on simulated photos, none of which was used to set a constant.

    Attributes
    ----------
    condition : str
        The name of the row in the table of `make accuracy`.
    what : str
        The same in plain words, marked.
    pictures : int
        How many were measured; `refused` how many were turned down with a sentence.
    typical, most : float
        Half of the errors are at most `typical`, nineteen in twenty at most `most`, in `unit`.
    held : float
        In what share of the pictures the truth lay within twice the stated doubt.
    """

    condition: str
    what: str
    pictures: int
    refused: int
    typical: float
    most: float
    held: float
    unit: str = "mm"

    @property
    def percent(self) -> int:
        """The share held, in whole per cent."""
        return round(100 * self.held)


@dataclass(frozen=True)
class TriedTakes:
    """A simulated oboe in simulated rooms: how many takes, or notes, were heard, and how many right."""

    condition: str
    what: str
    right: int
    takes: int


PHOTOS: tuple[TriedPhotos, ...] = (
    TriedPhotos("card, proposed", _("A flat card, the points as proposed"), 59, 1, 0.09, 0.30, 0.97),
    TriedPhotos(
        "card, seen edge, +-0.5 px",
        _("A flat card, the points set by hand with care"),
        59,
        1,
        0.12,
        0.31,
        0.98,
    ),
    TriedPhotos(
        "card bent 2-5 mm, proposed",
        _("A card bent by 2 to 5 mm, the points as proposed"),
        17,
        7,
        0.08,
        0.28,
        1.0,
    ),
    TriedPhotos(
        "card bent 2-5 mm, seen edge, +-0.5 px",
        _("A card bent by 2 to 5 mm, the points set by hand with care"),
        17,
        7,
        0.10,
        0.31,
        1.0,
    ),
    TriedPhotos(
        "opening, height over width, share of itself",
        _("The opening's height, as a share of itself"),
        21,
        3,
        0.007,
        0.050,
        1.0,
        "",
    ),
    TriedPhotos(
        "opening, unevenness",
        _("Left and right of the opening, (left - right) / (left + right)"),
        21,
        3,
        0.004,
        0.028,
        0.95,
        "",
    ),
)

TAKES: tuple[TriedTakes, ...] = (
    TriedTakes(
        "beside: steps", _("No step with the knife though a piano, voices or a hall sound along"), 420, 420
    ),
    TriedTakes(
        "moved: tone low", _("A list played a tone too low is said to be so, and no step follows"), 40, 40
    ),
    TriedTakes("moved: swapped", _("Two notes of the list swapped are named, and no step follows"), 40, 40),
    TriedTakes(
        "lists: talk before", _("A note that is silent stays silent though somebody talks before it"), 40, 40
    ),
    TriedTakes(
        "lists: talk after", _("A note that is silent stays silent though somebody talks after it"), 40, 40
    ),
    TriedTakes(
        "lists: repeated", _("A note that is silent stays silent though another is played twice"), 40, 40
    ),
    TriedTakes(
        "staccato: staccato room",
        _("Staccato in a room that rings is counted right, or said to ring too long"),
        59,
        60,
    ),
    TriedTakes(
        "crow: crow of two", _("The two pitches of a crow in octaves are named, and no other"), 60, 60
    ),
    TriedTakes("crow: crow of one", _("Of a crow of one pitch no octave is made"), 60, 60),
)
