"""The studio's measuring sheet: for each quantity low, aim, high, and what they depend on."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field, fields, replace
from functools import cached_property, lru_cache
from typing import Any

from reeds.checks.conformity import can_decide
from reeds.numbers.quantity import Known, Quantity
from reeds.numbers.registry import REGISTRY
from reeds.numbers.words import Flexibility, Method, Refused, Stage, Style
from reeds.numbers.words import gettext_noop as _

# nominal staple lengths are told apart to a tenth of a millimetre
STAPLE_TOLERANCE_MM = 0.05

UNKNOWN = _("There is no quantity called %(key)s.")
TWICE = _("%(name)s is on the sheet twice for the same staple, flexibility and stage.")
LOW_OVER_AIM = _("%(name)s: the low limit %(low)s is over the aim %(aim)s.")
AIM_OVER_HIGH = _("%(name)s: the aim %(aim)s is over the high limit %(high)s.")
LOW_OVER_HIGH = _("%(name)s: the low limit %(low)s must be under the high limit %(high)s.")
NO_LIMIT = _("%(name)s has neither a low nor a high limit.")
IMPLAUSIBLE = _("%(name)s: %(value)s cannot be right; it lies between %(least)s and %(most)s.")
NO_CHOICE = _("%(name)s: choose what the sheet wants to see.")


class SheetError(Refused):
    """A sheet that cannot be right; `key` tells of which quantity."""

    def __init__(self, sentence: str, key: str, /, **params: object) -> None:
        super().__init__(sentence, key=key, **{"name": key, **params})
        self.key = key


@dataclass(frozen=True, kw_only=True)
class Limit:
    """One row of a sheet.

    Attributes
    ----------
    quantity : str
        A key of the registry.
    low, aim, high : float or None
        In the quantity's unit; None where there is no limit on that side, or no single aim.
    choice : str
        What is wanted, for a quantity that is a choice.
    staple : float or None
        The nominal staple length, mm, this row is for; None for all.
    flexibility : Flexibility or None
        The feel of the cane this row is for; None for all.
    stage : Stage or None
        From which stage on this row holds, until a row for a later stage; None for all.
    photo : bool
        Whether a photo of what was noted is asked for; only of what is noted at the bench.
    source : str
        A marked sentence: what the row rests on.
    """

    quantity: str
    low: float | None = None
    aim: float | None = None
    high: float | None = None
    choice: str = ""
    staple: float | None = None
    flexibility: Flexibility | None = None
    stage: Stage | None = None
    photo: bool = False
    source: str = ""

    def fits(self, staple_length: float | None, flexibility: Flexibility, stage: Stage | None = None) -> bool:
        """Whether the row is for a reed on this staple, of this cane, at this stage."""
        staple_fits = self.staple is None or (
            staple_length is not None and abs(self.staple - staple_length) <= STAPLE_TOLERANCE_MM
        )
        reached = self.stage is None or (stage is not None and self.stage.order <= stage.order)
        return staple_fits and reached and self.flexibility in (None, flexibility)

    @property
    def precision(self) -> tuple[int, int]:
        """How much it depends on: for a stage, the later the more, then for a staple, then for a cane."""
        reached = -1 if self.stage is None else self.stage.order
        return reached, 2 * (self.staple is not None) + (self.flexibility is not None)

    def moved(self, delta: float) -> Limit:
        """Return the row with low, aim and high moved by `delta`, in the quantity's unit."""
        low, aim, high = (None if x is None else round(x + delta, 6) for x in (self.low, self.aim, self.high))
        return replace(self, low=low, aim=aim, high=high)

    def able(
        self,
        studio: Mapping[Method, float] | None = None,
        u_clips: float = 0.0,
        of: Quantity | None = None,
    ) -> list[Method]:
        """Return the tools with which a number could be within the limits at 95 %, the coarsest first.

        `studio` as in `Quantity.default_u`; `u_clips` is the doubt that clips add whatever the tool, in the
        quantity's unit; `of` is the quantity where it is not one of the registry.
        """
        tools = (of or REGISTRY[self.quantity]).tools(studio)
        deciding = [
            way for way, u in tools.items() if can_decide(math.hypot(u, u_clips), self.low, self.high)
        ]
        return sorted(deciding, key=lambda way: -tools[way])

    def unable(self, studio: Mapping[Method, float] | None = None) -> list[Method]:
        """Return the tools that can never say within: with them only what is far off is told."""
        deciding = self.able(studio)
        return [way for way in REGISTRY[self.quantity].tools(studio) if way not in deciding]


def _check_order(limit: Limit, name: str) -> None:
    low, aim, high = limit.low, limit.aim, limit.high
    if low is None and high is None:
        raise SheetError(NO_LIMIT, limit.quantity, name=name)
    if low is not None and high is not None and low >= high:
        raise SheetError(LOW_OVER_HIGH, limit.quantity, name=name, low=low, high=high)
    if low is not None and aim is not None and low > aim:
        raise SheetError(LOW_OVER_AIM, limit.quantity, name=name, low=low, aim=aim)
    if aim is not None and high is not None and aim > high:
        raise SheetError(AIM_OVER_HIGH, limit.quantity, name=name, aim=aim, high=high)


def check_limit(limit: Limit, known: Known = REGISTRY) -> None:
    """Raise SheetError if the row cannot be right: unknown, out of order, implausible, no choice."""
    quantity = known.get(limit.quantity)
    if quantity is None:
        raise SheetError(UNKNOWN, limit.quantity)
    if not quantity.is_number:
        only_photo = limit.photo and quantity.at_bench and not limit.choice
        if not only_photo and limit.choice not in dict(quantity.choices):
            raise SheetError(NO_CHOICE, limit.quantity, name=quantity.name)
        return
    _check_order(limit, quantity.name)
    for value in (limit.low, limit.aim, limit.high):
        if value is not None and not quantity.low <= value <= quantity.high:
            bounds = {"least": quantity.low, "most": quantity.high}
            raise SheetError(IMPLAUSIBLE, limit.quantity, name=quantity.name, value=value, **bounds)


@dataclass(frozen=True)
class Sheet:
    """A measuring sheet for one way of making a reed.

    Attributes
    ----------
    style : Style
        Which usual next steps may be shown.
    limits : tuple of Limit
        The rows, in the order shown.
    known : Known
        What the studio knows: the rows are of it, and the checks read it here.

    Raises
    ------
    SheetError
        If a row cannot be right or stands there twice.
    """

    style: Style
    limits: tuple[Limit, ...]
    known: Known = field(default_factory=lambda: REGISTRY, compare=False, repr=False)

    def __post_init__(self) -> None:
        seen: set[tuple[str, float | None, Flexibility | None, Stage | None]] = set()
        for limit in self.limits:
            check_limit(limit, self.known)
            place = (limit.quantity, limit.staple, limit.flexibility, limit.stage)
            if place in seen:
                raise SheetError(TWICE, limit.quantity, name=self.known[limit.quantity].name)
            seen.add(place)

    @cached_property
    def _rows(self) -> Mapping[str, list[Limit]]:
        rows: dict[str, list[Limit]] = {}
        for limit in self.limits:
            rows.setdefault(limit.quantity, []).append(limit)
        return rows

    @cached_property
    def keys(self) -> tuple[str, ...]:
        """The quantities on the sheet, each once, in order."""
        return tuple(self._rows)

    def limit_for(
        self,
        quantity: str,
        staple_length: float | None = None,
        flexibility: Flexibility = Flexibility.UNKNOWN,
        stage: Stage | None = None,
    ) -> Limit | None:
        """Return the row for this reed that depends on most, or None if no row fits.

        `staple_length` is the nominal length of the reed's staple, mm; None if it is not known. `stage` is
        where the reed stood when it was measured; without it only rows for all stages fit.
        """
        own = self._rows.get(quantity, ())
        rows = [row for row in own if row.fits(staple_length, flexibility, stage)]
        return max(rows, key=lambda row: row.precision, default=None)

    def with_offsets(self, offsets: Mapping[str, float]) -> Sheet:
        """Return the sheet moved by a player's own offsets, `{quantity: delta}` in the quantity's unit.

        Raises SheetError for a quantity that is not in the registry or has no numbers.
        """
        for key in offsets:
            if key not in self.known or not self.known[key].is_number:
                raise SheetError(UNKNOWN, key)
        if not offsets:
            return self
        moved = (x.moved(offsets[x.quantity]) if x.quantity in offsets else x for x in self.limits)
        return replace(self, limits=tuple(moved))

    def to_json(self) -> dict[str, Any]:
        """Return plain data that `from_json` gives back unchanged."""
        return {"style": self.style.value, "limits": [_row_json(limit) for limit in self.limits]}

    @classmethod
    def from_json(cls, data: Mapping[str, Any], known: Known = REGISTRY) -> Sheet:
        """Return the sheet stored by `to_json`; raises SheetError, KeyError or ValueError if it is broken."""
        return cls(Style(data["style"]), tuple(_row_from(**row) for row in data["limits"]), known)


def _row_json(limit: Limit) -> dict[str, Any]:
    """Only what is set, so that a stored sheet can be read by people."""
    return {
        key: value
        for key, value in asdict(limit).items()
        if value is not None and value is not False and value != ""
    }


_LIMIT_KEYS = {f.name for f in fields(Limit)}


@lru_cache(maxsize=4096, typed=True)
def _row_from(**row: Any) -> Limit:  # noqa: ANN401  # as it is stored
    """Return a stored row; sheets are read all day and share most of theirs, so each is made once."""
    kept = {key: value for key, value in row.items() if key in _LIMIT_KEYS}
    feel, stage = kept.pop("flexibility", None), kept.pop("stage", None)
    return Limit(
        flexibility=Flexibility(feel) if feel else None, stage=Stage(stage) if stage else None, **kept
    )


def sheet_problems(style: Style, limits: Iterable[Limit]) -> list[SheetError]:
    """Return every row's problem instead of raising the first, for a form that shows them all."""
    problems: list[SheetError] = []
    rows = list(limits)
    for limit in rows:
        try:
            check_limit(limit)
        except SheetError as problem:
            problems.append(problem)
    if not problems:
        try:
            Sheet(style, tuple(rows))
        except SheetError as problem:
            problems.append(problem)
    return problems


def moved(sheet: Sheet, offsets: Mapping[str, float]) -> Sheet:
    """Return the sheet moved by the offsets; as it stands if it cannot be moved so far any more."""
    try:
        return sheet.with_offsets(offsets)
    except SheetError:  # the sheet was changed since the offsets were set
        return sheet
