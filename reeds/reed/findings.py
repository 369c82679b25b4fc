"""What the checks say of a reed as it stands."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from reeds.checks.facts import Reading
from reeds.checks.findings import Finding
from reeds.checks.registry import run_checks
from reeds.reed.facts import BareRows, facts_of, sheet_of
from reeds.reed.models.reed import Reed


def findings_of(
    reed: Reed,
    extra: Iterable[Reading] = (),
    answers: Mapping[str, int] | None = None,
    rows: BareRows | None = None,
) -> list[Finding]:
    """Check a reed as it stands, together with what is typed and not yet kept."""
    return run_checks(facts_of(reed, reed.owner, extra, answers, rows), sheet_of(reed, rows))
