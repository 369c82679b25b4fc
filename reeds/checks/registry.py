"""Every check, once, in the order in which its findings are shown."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from types import ModuleType

from reeds.checks import (
    bench,
    cane,
    clips,
    evenness,
    heard,
    limits,
    missing,
    moisture,
    order,
    print_scale,
    recorded,
    rest,
    seen,
    sums,
    thread,
    twice,
)
from reeds.checks.causes import by_cause
from reeds.checks.facts import ReedFacts
from reeds.checks.findings import Finding
from reeds.checks.grounds import grounded
from reeds.checks.mending import remarked
from reeds.checks.one_step import one_step
from reeds.checks.sheet import Sheet


@dataclass(frozen=True)
class Check:
    """One check: its key in data, its marked name, what it rests on, and the function.

    `rows` are the quantities whose row of the sheet it looks at itself.
    """

    key: str
    name: str
    source: str
    check: Callable[[ReedFacts, Sheet], list[Finding]]
    rows: tuple[str, ...] = ()


def _of(module: ModuleType) -> Check:
    """A module of this package is a check if it has these four names; ROWS is the fifth."""
    return Check(module.KEY, module.NAME, module.SOURCE, module.check, getattr(module, "ROWS", ()))


# contradictions come first: a wrong number is more often misread than badly made
_MODULES = (
    print_scale,
    twice,
    sums,
    order,
    limits,
    thread,
    evenness,
    seen,
    bench,
    clips,
    heard,
    recorded,
    rest,
    moisture,
    cane,
    missing,
)

CHECKS: tuple[Check, ...] = tuple(_of(module) for module in _MODULES)
ROWS_ELSEWHERE = frozenset(key for each in CHECKS for key in each.rows)


def _raw(facts: ReedFacts, sheet: Sheet) -> Iterator[Finding]:
    """What every check says by itself; a row that a check looks at itself is not told by `limits` too."""
    for each in CHECKS:
        for found in each.check(facts, sheet):
            if each.key != limits.KEY or found.quantity not in ROWS_ELSEWHERE:
                yield grounded(found, facts)


def run_checks(facts: ReedFacts, sheet: Sheet) -> list[Finding]:
    """Return what every check finds on one reed, in the order of CHECKS: one a cause, one step in all.

    `sheet` is the version the reed took, already moved by the student's own offsets.
    """
    return one_step(by_cause(remarked(_raw(facts, sheet), facts, sheet.known)), facts, sheet)
