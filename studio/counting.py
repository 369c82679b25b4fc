"""How many rows lead to one, or their mean: asked beside it, not by joining and grouping.

Where a table's key begins with the studio, as in partitions, PostgreSQL groups by a row's number alone, as
Django would have it, only what is grouped by all of its columns.
"""

from __future__ import annotations

from typing import Any

from django.db.models import Avg, Count, Model, OuterRef, QuerySet, Subquery
from django.db.models.functions import Coalesce


def how_many(of: type[Model], path: str, **given: object) -> Coalesce:
    """Return how many rows `path` leads to from each row, of those alone that are as given."""
    return Coalesce(Subquery(_of_each(of, given).annotate(told=Count(path, distinct=True)).values("told")), 0)


def mean_of(of: type[Model], path: str) -> Subquery:
    """Return the mean of what `path` leads to from each row, None where there is nothing."""
    return Subquery(_of_each(of, {}).annotate(told=Avg(path)).values("told"))


def _of_each(of: type[Model], given: dict[str, Any]) -> QuerySet[Any, Any]:
    row = of._base_manager.filter(studio=OuterRef("studio"), pk=OuterRef("pk"), **given)
    return row.order_by().values("studio")
