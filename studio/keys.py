"""Keys between rows of one studio: whoever joins by them joins by the studio as well.

Each row carries its studio, and what it points to is of the same one. Said in the join, it leads the
database to that studio's part of both tables; without it the other studios' rows are looked through.
"""

from __future__ import annotations

from typing import Any, TypeVar

from django.db import models
from django.db.models.lookups import Exact

_ST = TypeVar("_ST", contravariant=True)
_GT = TypeVar("_GT", covariant=True)


def _of_one_studio(key: Any, alias: str | None, related_alias: str | None) -> Exact[Any] | None:  # noqa: ANN401  # either kind
    """Return that what is pointed to (`alias`) and what points there are of one studio.

    Where a subquery is taken off its outer query, Django asks without one of the two.
    """
    if alias is None or related_alias is None:
        return None
    there = key.remote_field.model._meta.get_field("studio").get_col(alias)
    return Exact(there, key.model._meta.get_field("studio").get_col(related_alias))


class StudioKey(models.ForeignKey[_ST, _GT]):
    """A foreign key to a row of the same studio; in the database it is one like any other."""

    def get_extra_restriction(self, alias: Any, related_alias: Any) -> Any:  # noqa: ANN401  # as ForeignObject has it
        return _of_one_studio(self, alias, related_alias)

    def deconstruct(self) -> Any:  # noqa: ANN401  # as Field has it
        name, _path, args, kwargs = super().deconstruct()
        return name, "django.db.models.ForeignKey", args, kwargs


class OneStudioKey(models.OneToOneField[_ST, _GT]):
    """The same, of one row to one."""

    def get_extra_restriction(self, alias: Any, related_alias: Any) -> Any:  # noqa: ANN401  # as ForeignObject has it
        return _of_one_studio(self, alias, related_alias)

    def deconstruct(self) -> Any:  # noqa: ANN401  # as Field has it
        name, _path, args, kwargs = super().deconstruct()
        return name, "django.db.models.OneToOneField", args, kwargs
