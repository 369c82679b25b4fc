"""What a row's JSON says, read once as long as the row holds the same value."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from django.db.models import Model

T = TypeVar("T")


def parsed(row: Model, field: str, read: Callable[[Any], T]) -> T:
    """Return `read` of the row's `field`; another value put in its place is read anew."""
    value = getattr(row, field)
    kept: dict[str, tuple[Any, Any]] = row.__dict__.setdefault("_parsed", {})
    if field not in kept or kept[field][0] is not value:
        kept[field] = (value, read(value))
    result: T = kept[field][1]
    return result
