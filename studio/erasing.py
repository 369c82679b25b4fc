"""Erasing what somebody sent, for pages of the studio, which knows of no photos: who lies above does it."""

from __future__ import annotations

from collections.abc import Callable

from django.db import transaction

from studio.journal import Happened, note
from studio.models import Member

Eraser = Callable[[Member], object]
_ERASERS: list[Eraser] = []


def register_eraser(eraser: Eraser) -> Eraser:
    """Add what erases a person's photos, recordings and what hangs on them; twice is the same as once."""
    if eraser not in _ERASERS:
        _ERASERS.append(eraser)
    return eraser


@transaction.atomic
def erase_pictures(whose: Member, by: Member | None) -> None:
    """Erase somebody's photos and recordings for good; numbers and counts stay. `by` None: the worker.

    Rows are changed at once, the files go when that holds. Twice is the same as once.
    """
    for eraser in _ERASERS:
        eraser(whose)
    note(Happened.ERASED_PICTURES, by=by, whose=whose)
