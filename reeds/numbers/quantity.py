"""What a quantity is: its unit, its stage, what is plausible, and how it is measured."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal

from reeds.numbers.words import Method, Stage, Style
from reeds.numbers.words import gettext_noop as _

ASKED_AT_ONCE = 6

# the units that numbers are kept in, with how else people write them; '' for a count or a ratio
UNITS: dict[str, tuple[str, ...]] = {
    "mm": (),
    "mm²": ("mm2", "mm^2", "sq mm"),
    "°": ("deg", "degree", "degrees", "grad"),
    "g": ("gram", "grams", "gramm"),
    _("cents"): ("cent", "c"),
    "Hz": ("hertz",),
    "s": ("sec", "second", "seconds", "sek", "sekunde", "sekunden"),
    "min": ("minute", "minutes", "minuten"),
    _("days"): ("day", "d", "tag", "tage"),
    "%": ("percent", "per cent", "prozent"),
    "": (),
}

BY_HAND = (Method.RULER, Method.CALIPER, Method.EYE, Method.PHOTO)
THICKNESS = (Method.DIAL, Method.CALIPER)


def u_of_length(method: Method, studio: Mapping[Method, float] | None = None) -> float | None:
    """Return the standard uncertainty of a length typed, mm: the studio's own, else the usual one."""
    return (studio or {}).get(method, method.u_mm)


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """Something measured (`kind` number) or seen (`kind` choice) on a reed.

    Attributes
    ----------
    key, name, help : str
        The lasting name in data, and the marked words for people.
    unit, spellings : str, tuple of str
        The unit as it is shown, '' for a ratio or a choice; and how else people write it.
    stage : Stage
        The stage from which on it can be measured and its limits hold.
    later : tuple of Stage
        Further stages at which it is asked again.
    low, high : float
        What is plausible at all, in the unit: outside, the number is questioned and not taken.
    decimals : int
        How many are shown.
    u : mapping of Method to float
        The usual standard uncertainty of a number read by hand, in the unit. Lengths need none here: they
        have that of the tool, which a studio may set.
    choices : tuple of (value, marked label)
        For a choice, what can be chosen, in order.
    method, methods
        The usual way of measuring, and all that make sense; an empty `methods` means that it is never
        typed but follows from events (clips, rest).
    optional : bool
        True where it is asked only if the studio's sheet has it.
    at_bench : bool
        True for what a hand notes while it works: asked beside the numbers, never called missing.
    styles : tuple of Style
        For what is noted at the bench, the scrapes whose work has it; empty for all.

    Raises
    ------
    ValueError
        If a way of measuring by hand would leave a number without its doubt.
    """

    key: str
    name: str
    unit: str = "mm"
    spellings: tuple[str, ...] = ()
    stage: Stage
    later: tuple[Stage, ...] = ()
    low: float = 0.0
    high: float = 0.0
    decimals: int = 1
    u: Mapping[Method, float] = field(default_factory=dict)
    kind: Literal["number", "choice"] = "number"
    choices: tuple[tuple[str, str], ...] = ()
    help: str = ""
    method: Method = Method.RULER
    methods: tuple[Method, ...] = BY_HAND
    optional: bool = False
    at_bench: bool = False
    styles: tuple[Style, ...] = ()

    def __post_init__(self) -> None:
        if self.is_number and any(self.default_u(way) is None for way in self.hand_methods):
            raise ValueError(f"{self.key} has a way of measuring by hand without a doubt.")

    @cached_property
    def stages(self) -> tuple[Stage, ...]:
        """Every stage at which it is asked."""
        return (self.stage, *self.later)

    @property
    def is_number(self) -> bool:
        """Whether it is a number and not a choice."""
        return self.kind == "number"

    @property
    def is_length(self) -> bool:
        """Whether it is a number in millimetres."""
        return self.is_number and self.unit == "mm"

    @cached_property
    def hand_methods(self) -> tuple[Method, ...]:
        """The ways of measuring that need neither photo nor recording."""
        return tuple(way for way in self.methods if way.by_hand)

    @property
    def is_typed(self) -> bool:
        """Whether a person can enter it."""
        return bool(self.hand_methods)

    @property
    def hand_method(self) -> Method:
        """The way of measuring to fill in beforehand where the number is typed; ValueError if it is not."""
        if not self.is_typed:
            raise ValueError(f"{self.key} is never typed.")
        return self.method if self.method.by_hand else self.hand_methods[0]

    @cached_property
    def last_asked(self) -> Stage:
        """The last stage at which it is asked."""
        return max(self.stages, key=lambda stage: stage.order)

    def belongs_to(self, style: Style) -> bool:
        """Whether the work of this scrape has it; of another scrape nothing is known, so all of it may."""
        return style is Style.OTHER or not self.styles or style in self.styles

    def default_u(self, method: Method, studio: Mapping[Method, float] | None = None) -> float | None:
        """Return the standard uncertainty a typed number gets, in the unit.

        `studio` holds the studio's own values for lengths, mm. None where the result must bring its own
        (photo, recording), where the way of measuring does not fit the quantity, and for a choice.
        """
        if method not in self.methods or not self.is_number:
            return None
        return u_of_length(method, studio) if self.is_length else self.u.get(method)

    def tools(self, studio: Mapping[Method, float] | None = None) -> dict[Method, float]:
        """Return each tool that suits it with its standard uncertainty, in the unit; `studio` as above.

        Photo and recording are left out: each of their results brings its own.
        """
        found = {way: self.default_u(way, studio) for way in self.methods}
        return {way: u for way, u in found.items() if u is not None}

    def label_of(self, choice: str) -> str:
        """Return the marked label of a choice; raises KeyError for a choice that is not offered."""
        return dict(self.choices)[choice]


class Known(Mapping[str, Quantity]):
    """What can be noted in one studio, by key: the registry and, after it, the studio's own.

    Parameters
    ----------
    registry : mapping of key to Quantity
        What everybody has; read where it is, not copied.
    own : iterable of Quantity
        The studio's own; a key that the registry has stays the registry's.
    retired : collection of str
        Keys of own quantities that are asked no more; what was noted of them is still known.
    """

    def __init__(
        self,
        registry: Mapping[str, Quantity],
        own: Iterable[Quantity] = (),
        retired: Collection[str] = (),
    ) -> None:
        self._registry, self._retired = registry, frozenset(retired)
        self._own = {quantity.key: quantity for quantity in own if quantity.key not in registry}

    def __getitem__(self, key: str) -> Quantity:
        return self._registry[key] if key in self._registry else self._own[key]

    def __iter__(self) -> Iterator[str]:
        return iter((*self._registry, *self._own))

    def __len__(self) -> int:
        return len(self._registry) + len(self._own)

    def is_own(self, key: str) -> bool:
        """Whether it is the studio's own."""
        return key in self._own

    @property
    def on_sheets(self) -> list[Quantity]:
        """What a measuring sheet may still be given a row for, in order."""
        known = {**self._registry, **self._own}
        return [one for key, one in known.items() if key not in self._retired]

    @property
    def typed(self) -> list[Quantity]:
        """What a person may still enter, in order."""
        return [one for one in self.on_sheets if one.is_typed]

    def asked_at(self, stage: Stage, on_sheet: Collection[str] | None = None) -> list[Quantity]:
        """Return what a person is asked at a stage, in order.

        Of the registry at most six at a time; of the studio's own all that are on its sheet. `on_sheet`
        are the keys of the sheet: with them only these are asked, without them all that are not optional.
        What only a photo, a recording or an event can tell is never asked.
        """
        asked = [one for one in self.typed if stage in one.stages and not one.at_bench]
        if on_sheet is None:
            return [one for one in asked if not one.optional][:ASKED_AT_ONCE]
        wanted = [one for one in asked if one.key in on_sheet]
        usual = [one for one in wanted if not self.is_own(one.key)][:ASKED_AT_ONCE]
        return [*usual, *(one for one in wanted if self.is_own(one.key))]

    def noted_at(self, stage: Stage, style: Style) -> list[Quantity]:
        """Return what may be noted at the bench at a stage of this scrape, in the order of work."""
        return [one for one in self.typed if one.at_bench and stage in one.stages and one.belongs_to(style)]
