"""Every check, once, in the order in which its findings are shown."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from types import ModuleType

from reeds.checks import limits
from reeds.checks.facts import ReedFacts
from reeds.checks.findings import Finding
from reeds.checks.sheet import Sheet


@dataclass(frozen=True)
class Check:
    """One check: its key in data, its marked name, what it rests on, and the function."""

    key: str
    name: str
    source: str
    find: Callable[[ReedFacts, Sheet], list[Finding]]


def _of(module: ModuleType) -> Check:
    """A module of this package is a check if it has these four names."""
    return Check(module.KEY, module.NAME, module.SOURCE, module.check)


CHECKS: tuple[Check, ...] = tuple(_of(module) for module in (limits,))


def run(facts: ReedFacts, sheet: Sheet) -> list[Finding]:
    """Return the findings of every check on one reed, in the order of CHECKS.

    `sheet` is the version the reed took, already moved by the student's own offsets.
    """
    return [found for each in CHECKS for found in each.find(facts, sheet)]
