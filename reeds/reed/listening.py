"""Where recordings tell of a reed: they lie above it, so that it asks whoever has put a name down here."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from reeds.checks.facts import Told
from reeds.reed.models.reed import Reed


@dataclass(frozen=True)
class HeardOf:
    """What recordings told, by the item of the playing test: of the reed, and of the reference reed."""

    own: Mapping[str, Told] = field(default_factory=dict)
    reference: Mapping[str, Told] = field(default_factory=dict)


Listener = Callable[[Reed, dt.datetime | None], HeardOf]
_LISTENERS: list[Listener] = []


def register_listener(listener: Listener) -> Listener:
    """Let what lies above tell of a reed's recordings; twice is the same as once."""
    if listener not in _LISTENERS:
        _LISTENERS.append(listener)
    return listener


def listened_to(reed: Reed, cut_at: dt.datetime | None) -> HeardOf:
    """Return what all listeners tell of a reed of which something was taken off last at `cut_at`."""
    heard = [listener(reed, cut_at) for listener in _LISTENERS]
    return HeardOf(
        {item: told for one in heard for item, told in one.own.items()},
        {item: told for one in heard for item, told in one.reference.items()},
    )
