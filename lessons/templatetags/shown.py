"""Demonstrations beside what they are about."""

from __future__ import annotations

from collections.abc import Iterable

from django import template

from lessons.demonstration.models import Demonstration, subjects_of
from lessons.demonstration.subjects import subject_named
from reeds.checks.findings import Finding

register = template.Library()
register.filter("subject_named", subject_named)


@register.filter
def shown_in(finding: Finding, rows: Iterable[Demonstration] | None) -> list[Demonstration]:
    """Return which of the rows are about a finding; none where the page has no rows."""
    subjects = subjects_of(finding)
    return [row for row in rows or () if row.about in subjects]


@register.filter
def shown_at(stage: str, rows: Iterable[Demonstration] | None) -> list[Demonstration]:
    """Return which of the rows are about a stage."""
    return [row for row in rows or () if row.about == f"stage:{stage}"]
