"""The columns of a grown studio: what each copy has that its model in the demo has not."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, cast

import numpy as np
from django.db.models import BigIntegerField, DateField, Field, Model, UUIDField

from lessons.demo import people
from lessons.demo.growing.laid import Copy, Laid
from lessons.demo.growing.tables import as_text
from reeds.reed.models.measurement import Measurement
from studio.models import Person, Role, Studio

SEED = 20_261_127
# a grown studio is so many days older than the demo, at most
DAYS = 20
# of a number's doubt, the spread of what it is in another studio
VARIES = 0.5
UNUSABLE = "!grown"

Values = Sequence[str | None]


@dataclass(frozen=True)
class Grown:
    """One grown studio: its primary key, by which all is drawn for it, and its place among the new ones."""

    number: int
    place: int

    @property
    def rng(self) -> np.random.Generator:
        return np.random.default_rng([SEED, self.number])

    @property
    def days(self) -> int:
        return int(self.rng.integers(DAYS + 1))

    @property
    def masks(self) -> list[int]:
        """Return what makes a key another one, by turn."""
        return [
            int.from_bytes(row.tobytes()) for row in self.rng.integers(0, 2**64, (64, 2), dtype=np.uint64)
        ]


@dataclass(frozen=True)
class Column:
    """One column: `same` for all studios, or what it is in one of them."""

    field: Field[Any, Any]
    same: Values | None = None
    of: Callable[[Grown], Values] | None = None

    @property
    def name(self) -> str:
        return str(self.field.column)

    def values(self, grown: Grown) -> Values:
        return self.of(grown) if self.of is not None else self.same or ()


@dataclass(frozen=True)
class Bases:
    """From which number on the rows of each table are new, and how many each studio has."""

    first: dict[type[Model], int]
    each: dict[type[Model], int]

    def of(self, model: type[Model], grown: Grown) -> int:
        return self.first[model] + self.each[model] * grown.place


def columns_of(laid: Laid, bases: Bases) -> list[Column]:
    """Return the columns, those first that are the same everywhere."""
    found = [_column(field, laid, bases) for field in laid.fields]
    return sorted(found, key=lambda column: column.same is None)


def _column(field: Field[Any, Any], laid: Laid, bases: Bases) -> Column:
    given = [copy.row[field.attname] for copy in laid.copies]
    if field.attname in laid.refs:
        return Column(
            field, of=_keys(laid.refs[field.attname], cast(type[Model], field.related_model), bases)
        )
    if field.primary_key:
        return Column(field, of=_keys(range(len(laid.copies)), laid.model, bases))
    if special := SPECIAL.get((laid.model, field.name)):
        return special(field, laid.copies)
    if isinstance(field, UUIDField) and any(given):
        return Column(field, of=_other_keys(given, [copy.turn for copy in laid.copies]))
    if isinstance(field, DateField) and any(given):
        return Column(field, of=_moved(field, given))
    if field.unique and not isinstance(field, BigIntegerField):
        return _marked(field, laid.copies)
    return Column(field, same=[as_text(field, value) for value in given])


def _keys(places: Sequence[int | None], model: type[Model], bases: Bases) -> Callable[[Grown], Values]:
    def keys(grown: Grown) -> Values:
        base = bases.of(model, grown)
        return [None if place is None else str(base + place) for place in places]

    return keys


def _other_keys(given: Sequence[Any], turns: Sequence[int]) -> Callable[[Grown], Values]:
    pairs = [(value and value.int, turn) for value, turn in zip(given, turns, strict=True)]

    def keys(grown: Grown) -> Values:
        masks = grown.masks
        return [None if value is None else f"{value ^ masks[turn]:032x}" for value, turn in pairs]

    return keys


def _moved(field: Field[Any, Any], given: Sequence[Any]) -> Callable[[Grown], Values]:
    """Move by whole days; what it is after so many is kept, since many studios share it."""
    known: dict[int, Values] = {}

    def moved(grown: Grown) -> Values:
        days = grown.days
        if days not in known:
            back = dt.timedelta(days=days)
            known[days] = [None if day is None else as_text(field, day - back) for day in given]
        return known[days]

    return moved


def _marked(field: Field[Any, Any], copies: Sequence[Copy]) -> Column:
    """What there may be once only ends in the studio's number and the place."""

    def marked(grown: Grown) -> Values:
        return [_with_mark(copy, field, f"-{grown.number}-{copy.place}") for copy in copies]

    return Column(field, of=marked)


def _with_mark(copy: Copy, field: Field[Any, Any], mark: str) -> str | None:
    value = copy.row[field.attname]
    return None if value is None else f"{value[: (field.max_length or 255) - len(mark)]}{mark}"


def _studio_name(field: Field[Any, Any], copies: Sequence[Copy]) -> Column:
    return Column(field, of=lambda grown: [f"{copy.row['name']} {grown.number}" for copy in copies])


def _called(field: Field[Any, Any], copies: Sequence[Copy]) -> Column:
    """Names that nobody has: each made of two of the demo's."""
    names = [hand.name.split(maxsplit=1) for hand in people.HANDS]

    def called(grown: Grown) -> Values:
        drawn = grown.rng.integers(len(names), size=(len(copies), 2))
        return [f"{names[first][0]} {names[last][1]}" for first, last in drawn]

    return Column(field, of=called)


def _passwords(field: Field[Any, Any], copies: Sequence[Copy]) -> Column:
    """One teacher of a studio signs in as in the demo; nobody else does."""
    teaching = Person.objects.filter(
        pk__in=[copy.row["id"] for copy in copies], memberships__role=Role.TEACHER
    )
    first = teaching.order_by("pk").values_list("pk", flat=True).first()
    kept = [copy.row["password"] if copy.row["id"] == first else UNUSABLE for copy in copies]
    return Column(field, same=kept)


def _varied(field: Field[Any, Any], copies: Sequence[Copy]) -> Column:
    """Another number within its doubt, to the hundredth."""
    values = np.array([copy.row["value"] if copy.row["value"] is not None else np.nan for copy in copies])
    spread = VARIES * np.array([copy.row["u"] or 0.0 for copy in copies])

    def varied(grown: Grown) -> Values:
        drawn = np.round(values + spread * grown.rng.normal(size=len(copies)), 2)
        return [None if value != value else repr(value) for value in drawn.tolist()]

    return Column(field, of=varied)


SPECIAL: dict[tuple[type[Model], str], Callable[[Field[Any, Any], Sequence[Copy]], Column]] = {
    (Studio, "name"): _studio_name,
    (Person, "name"): _called,
    (Person, "password"): _passwords,
    (Measurement, "value"): _varied,
}
