"""What forms hand to actions: what one page typed, and all that a round holds when it is sent."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field

from django.utils import timezone

from reeds.checks.findings import Finding
from reeds.reed.actions import Entry

# a phone's clock is believed if what it sends took no longer than this to come
LONGEST_WAY_MS = 30_000
LONGEST_TOLD = 8_000


def now_ms() -> int:
    """Return the time as pages tell it: milliseconds since 1970."""
    return round(timezone.now().timestamp() * 1000)


@dataclass(frozen=True)
class Save:
    """What one page typed, field by field, and when: of two that typed in one field, the later stays.

    `times` are milliseconds since 1970 by the server's clock; what has none was typed just now.
    """

    typed: Mapping[str, str]
    question: str | None = None
    times: Mapping[str, int] = field(default_factory=dict)

    @property
    def fields(self) -> dict[str, str]:
        """All that was typed, the question too."""
        return {**self.typed, **({} if self.question is None else {"question": self.question})}

    def not_before(self, kept_at: Mapping[str, int], now: int) -> dict[str, int]:
        """Return when its fields were typed, without those that somebody typed later elsewhere."""
        times = {name: self.times.get(name, now) for name in self.fields}
        return {name: at for name, at in times.items() if at >= kept_at.get(name, 0)}


def times_told(typed_at: str, clock: str, now: int) -> dict[str, int] | None:
    """Return when a page says that its fields were typed, ms by our clock `now`; None if it says nothing.

    `typed_at` is JSON by the phone's clock, which showed `clock` as it sent this. A clock that is ahead, or
    further behind than a request can take, is set right by the difference.
    """
    try:
        told = json.loads(typed_at[:LONGEST_TOLD])
        late = now - int(clock[:16])
    except (ValueError, RecursionError):
        return None
    if not isinstance(told, dict) or not all(type(at) is int for at in told.values()):
        return None
    shift = 0 if 0 <= late <= LONGEST_WAY_MS else late
    return {name: min(at + shift, now) for name, at in told.items()}


@dataclass(frozen=True)
class Round:
    """What a round holds beside its photos and its question."""

    entries: list[Entry]
    ratings: Mapping[str, int]
    effort: int | None
    findings: list[Finding]

    @property
    def played(self) -> bool:
        """Whether anything of the playing test was noted."""
        return bool(self.ratings or self.effort is not None)
