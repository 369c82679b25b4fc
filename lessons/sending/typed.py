"""What forms hand to actions: what one page typed, and all that a round holds when it is sent."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from reeds.checks.findings import Finding
from reeds.reed.actions import Entry


@dataclass(frozen=True)
class Save:
    """What one page typed since the server last answered it.

    `phone` names the browser and `number` counts its saves: of two saves of one phone that overtake each
    other on the way, the one typed later stays.
    """

    typed: Mapping[str, str]
    question: str | None = None
    phone: str = ""
    number: int = 0


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
