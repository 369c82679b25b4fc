"""Which tables grow, asked of the models themselves, and a studio's rows of them as a database reads text."""

from __future__ import annotations

import datetime as dt
import json
import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.apps import apps
from django.db.models import Field, ForeignKey, JSONField, Model

from studio.access import StudioRow
from studio.models import Member, Person, Studio

HOUSES = ("studio", "reeds", "lessons")
# what never grows, and why; a model that is neither here nor found in a grown studio fails a test
NOT_GROWN = {
    "studio.WorkerLease": "of a machine",
    "studio.JournalEntry": "who opened what: nobody has opened anything there",
    "studio.SentForm": "of pages that are open now",
    "studio.Phone": "of somebody's own phone, which nobody invented has",
    "studio.Person_groups": "the site has no groups",
    "studio.Person_user_permissions": "the site gives no permissions",
}
Row = dict[str, Any]
Key = ForeignKey[Any, Any]


@dataclass(frozen=True)
class Table:
    """One table: its columns in order, and its rows of one studio by primary key."""

    model: type[Model]
    rows: dict[Any, Row]

    @property
    def fields(self) -> list[Field[Any, Any]]:
        return [field for field in self.model._meta.local_concrete_fields if field.column]

    @property
    def keys_elsewhere(self) -> list[Key]:
        return [field for field in self.fields if isinstance(field, ForeignKey)]


def models_that_grow() -> list[type[Model]]:
    """Return every model of ours that has a studio, of itself or by what it ties together."""
    ours = [
        model
        for house in HOUSES
        for model in apps.get_app_config(house).get_models(include_auto_created=True)
        if model._meta.label not in NOT_GROWN
    ]
    return sorted(ours, key=lambda model: model not in (Studio, Person, Member))


def tables_of(studio: Studio) -> list[Table]:
    """Read all rows of one studio, its people among them."""
    return [Table(model, _rows(model, studio)) for model in models_that_grow()]


def _rows(model: type[Model], studio: Studio) -> dict[Any, Row]:
    names = [field.attname for field in model._meta.local_concrete_fields]
    rows = model._base_manager.filter(**_within(model, studio)).order_by("pk").distinct()
    return {row[model._meta.pk.attname]: row for row in rows.values(*names).iterator()}


def _within(model: type[Model], studio: Studio) -> dict[str, Any]:
    """Return what narrows this model to a studio; of what ties two rows together, the first says it."""
    if model is Studio:
        return {"pk": studio.pk}
    if model is Person:
        return {"memberships__studio": studio.pk}
    if issubclass(model, StudioRow):
        return {"studio": studio.pk}
    first = next(field for field in model._meta.local_fields if isinstance(field, ForeignKey))
    return {f"{first.name}__studio": studio.pk}


def students_of(table: Table, students: set[int]) -> dict[Any, int]:
    """Return which student a row is of, by primary key: one who is the only one that the rule leads to."""
    if table.model is Person:
        members = Member.objects.filter(person__in=table.rows, pk__in=students)
        return dict(members.values_list("person", "pk"))
    path = getattr(table.model, "owner_path", None)
    if path is None:
        return {}
    found: dict[Any, set[Any]] = {}
    for pk, whose in _whose(table, path):
        found.setdefault(pk, set()).add(whose)
    alone = {pk: next(iter(whose)) for pk, whose in found.items() if len(whose) == 1}
    return {pk: whose for pk, whose in alone.items() if whose in students}


def _whose(table: Table, path: str) -> Iterator[tuple[Any, Any]]:
    rows = table.model._base_manager.filter(studio__in=_studios(table))
    yield from rows.values_list("pk", path).order_by().iterator()


def _studios(table: Table) -> set[int]:
    return {row["studio_id"] for row in table.rows.values()}


def as_text(field: Field[Any, Any], value: Any) -> str | None:  # noqa: ANN401  # of whatever kind the column is
    """Return a value as SQLite keeps it and PostgreSQL reads it; None for nothing."""
    if isinstance(field, JSONField):
        return None if value is None and field.null else json.dumps(value, cls=field.encoder)
    match value:
        case None:
            return None
        case bool():
            return str(int(value))
        case dt.datetime():
            return str(value.astimezone(dt.UTC).replace(tzinfo=None))
        case uuid.UUID():
            return value.hex
    return str(value)
