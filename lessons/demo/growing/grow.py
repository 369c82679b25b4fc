"""Grows studios beside the demo's, as many as a country has, to see what becomes of the pages."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from django.core.management.color import no_style
from django.db import connection, transaction
from django.db.models import Max, Model

from lessons.demo.growing.columns import Bases, Grown, columns_of
from lessons.demo.growing.laid import Laid, laid_out
from lessons.demo.growing.written import prepared, writer
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.reed import Reed
from studio.models import Member, Studio

Told = Callable[[str], object]


class HasPeople(Exception):
    """There are studios here that nobody invented."""


@dataclass(frozen=True)
class Harvest:
    """How many rows came, and in which time."""

    rows: dict[type[Model], int]
    studios: int
    students: int
    seconds: float

    def __str__(self) -> str:
        total = sum(self.rows.values())
        return (
            f"{self.studios:,} studios, {self.students:,} students, {self.rows[Reed]:,} reeds, "
            f"{self.rows[Measurement]:,} numbers: {total:,} rows in {self.seconds:.0f} s, "
            f"{total / self.seconds:,.0f} a second"
        )


def grow(studios: int, load: Callable[[], Studio], told: Told) -> Harvest:
    """Write so many studios, all or none: like the demo's, which `load` makes where there is none.

    `told` hears of each table as it is done.
    """
    source = _of_the_demo(load)
    began = time.monotonic()
    with transaction.atomic():
        laid = laid_out(source)
        bases = Bases(
            {one.model: _free(one.model) for one in laid}, {one.model: len(one.copies) for one in laid}
        )
        new = [Grown(bases.first[Studio] + place, place) for place in range(studios)]
        with prepared([one.model._meta.db_table for one in laid]):
            _written(laid, bases, new, told)
            told("indexes and keys")
        _numbered_on(laid)
    _looked_over()
    rows = {one.model: len(one.copies) * studios for one in laid}
    return Harvest(rows, studios, _students(laid) * studios, time.monotonic() - began)


def _of_the_demo(load: Callable[[], Studio]) -> Studio:
    """Return the demo's studio, loaded where there is none; refuse where real people's studios are."""
    if real := Studio.objects.filter(is_demo=False).count():
        raise HasPeople(
            f"{real} of the studios here are not invented: what grows would lie among real people's. "
            "Give it a database of its own, by DATA_DIR or DATABASE_URL."
        )
    return Studio.objects.order_by("pk").first() or load()


def _free(model: type[Model]) -> int:
    return int(model._base_manager.aggregate(last=Max("pk"))["last"] or 0) + 1


def _written(laid: Sequence[Laid], bases: Bases, new: Sequence[Grown], told: Told) -> None:
    write = writer()
    for one in filter(lambda one: one.copies, laid):
        write(one.model._meta.db_table, columns_of(one, bases), new)
        told(f"{len(one.copies) * len(new):,} of {one.model._meta.label}")


def _students(laid: Sequence[Laid]) -> int:
    return next(len({copy.place for copy in one.copies} - {0}) for one in laid if one.model is Member)


def _numbered_on(laid: Sequence[Laid]) -> None:
    """What is made by people from now on has numbers after those that were given."""
    with connection.cursor() as cursor:
        for sql in connection.ops.sequence_reset_sql(no_style(), [one.model for one in laid]):
            cursor.execute(sql)


def _looked_over() -> None:
    """Have the database count its rows, so that it plans by how many there are."""
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
