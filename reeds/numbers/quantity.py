"""What a quantity is: its unit, its stage, what is plausible, and how it is measured."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from reeds.numbers.vocabulary import Method, Stage

BY_HAND = (Method.RULER, Method.CALIPER, Method.EYE, Method.PHOTO)
THICKNESS = (Method.DIAL, Method.CALIPER)


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """Something measured (`kind` number) or seen (`kind` choice) on a reed.

    Attributes
    ----------
    key, name, help : str
        The lasting name in data, and the marked words for people.
    unit : str
        'mm', 'mm²', 'cents', 'days', or '' for a ratio or a choice.
    stage : Stage
        The stage from which on it can be measured and its limits hold.
    later : tuple of Stage
        Further stages at which it is asked again.
    low, high : float
        What is plausible at all, in the unit: outside, the number is questioned and not taken.
    decimals : int
        How many are shown.
    choices : tuple of (value, marked label)
        For a choice, what can be chosen, in order.
    method, methods
        The usual way of measuring, and all that make sense; an empty `methods` means that it is never
        typed but follows from events (clips, rest).
    optional : bool
        True where it is asked only if the studio's sheet has it.
    """

    key: str
    name: str
    unit: str = "mm"
    stage: Stage
    later: tuple[Stage, ...] = ()
    low: float = 0.0
    high: float = 0.0
    decimals: int = 1
    kind: Literal["number", "choice"] = "number"
    choices: tuple[tuple[str, str], ...] = ()
    help: str = ""
    method: Method = Method.RULER
    methods: tuple[Method, ...] = BY_HAND
    optional: bool = False

    @property
    def stages(self) -> tuple[Stage, ...]:
        """Every stage at which it is asked."""
        return (self.stage, *self.later)

    @property
    def is_number(self) -> bool:
        """Whether it is a number and not a choice."""
        return self.kind == "number"

    @property
    def is_typed(self) -> bool:
        """Whether a person can enter it: some way of measuring needs neither photo nor recording."""
        return any(method not in (Method.PHOTO, Method.RECORDING) for method in self.methods)

    @property
    def hand_method(self) -> Method:
        """The way of measuring to fill in beforehand where the number is typed; ValueError if it is not."""
        by_hand = [way for way in (self.method, *self.methods) if way not in (Method.PHOTO, Method.RECORDING)]
        if not self.is_typed:
            raise ValueError(f"{self.key} is never typed.")
        return by_hand[0]

    def label_of(self, choice: str) -> str:
        """Return the marked label of a choice; raises KeyError for a choice that is not offered."""
        return dict(self.choices)[choice]
