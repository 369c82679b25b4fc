"""Keys between rows of one studio: whoever joins by them joins by the studio as well.

Each row carries its studio, and what it points to is of the same one. Said in the join, it leads the
database to that studio's part of both tables; without it the other studios' rows are looked through.
"""

from __future__ import annotations

from typing import Any, ClassVar, TypeVar, cast

from django.db import models
from django.db.models.lookups import Exact
from django.db.models.sql.where import AND, WhereNode

_ST = TypeVar("_ST", contravariant=True)
_GT = TypeVar("_GT", covariant=True)


def _studio_of(rows: type[models.Model]) -> models.ForeignKey[Any, Any]:
    """Return the field by which rows of this kind carry their studio."""
    return cast("models.ForeignKey[Any, Any]", rows._meta.get_field("studio"))


class StudioKey(models.ForeignKey[_ST, _GT]):
    """A foreign key to a row of the same studio; to the database and to migrations it is any other."""

    plain: ClassVar = "django.db.models.ForeignKey"

    def get_extra_restriction(self, alias: str | None, related_alias: str | None) -> WhereNode | None:
        """Return that what is pointed to (`alias`) and what points there are of one studio.

        Where a subquery is taken off its outer query, Django asks without one of the two.
        """
        if alias is None or related_alias is None:
            return None
        there, here = _studio_of(self.remote_field.model), _studio_of(self.model)
        of_one_studio = WhereNode()
        of_one_studio.add(Exact(there.get_col(alias), here.get_col(related_alias)), AND)
        return of_one_studio

    def deconstruct(self) -> Any:  # noqa: ANN401  # as Field has it
        name, _path, args, kwargs = super().deconstruct()
        return name, self.plain, args, kwargs


class OneStudioKey(StudioKey[_ST, _GT], models.OneToOneField[_ST, _GT]):
    """The same, of one row to one."""

    plain: ClassVar = "django.db.models.OneToOneField"
