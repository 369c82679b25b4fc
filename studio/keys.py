"""Keys between rows of one studio: whoever joins by them joins by the studio as well.

Each row carries its studio, and what it points to is of the same one. Said in the join, it leads the
database to that studio's part of both tables; without it the other studios' rows are looked through.
"""

from __future__ import annotations

from typing import Any, ClassVar, NamedTuple, TypeVar

from django.db import models
from django.db.models.sql.compiler import SQLCompiler

_ST = TypeVar("_ST", contravariant=True)
_GT = TypeVar("_GT", covariant=True)


class OfOneStudio(NamedTuple):
    """That rows of two tables are of one studio, as SQL: each join of each page asks it, so it is quick."""

    one: str
    other: str

    def as_sql(self, compiler: SQLCompiler, _connection: object) -> tuple[str, tuple[()]]:
        name = compiler.quote_name_unless_alias
        return f'{name(self.one)}."studio_id" = {name(self.other)}."studio_id"', ()


class StudioKey(models.ForeignKey[_ST, _GT]):
    """A foreign key to a row of the same studio; to the database and to migrations it is any other."""

    plain: ClassVar = "django.db.models.ForeignKey"

    def get_extra_restriction(self, alias: str | None, related_alias: str | None) -> Any:  # noqa: ANN401  # as Django's, whose stub says less
        """Return that what is pointed to (`alias`) and what points there are of one studio.

        Where a subquery is taken off its outer query, Django asks without one of the two.
        """
        return OfOneStudio(alias, related_alias) if alias and related_alias else None

    def deconstruct(self) -> Any:  # noqa: ANN401  # as Field has it
        name, _path, args, kwargs = super().deconstruct()
        return name, self.plain, args, kwargs


class OneStudioKey(StudioKey[_ST, _GT], models.OneToOneField[_ST, _GT]):
    """The same, of one row to one.

    To the database it is a foreign key as well: that there is but one is said by a constraint of the model,
    which begins with the studio as every key does.
    """
