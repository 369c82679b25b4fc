"""What a demonstration can be of: a stage, a quantity, a finding of several numbers."""

from __future__ import annotations

from django.utils.translation import gettext as _

from reeds.checks import bench, limits, missing, seen
from reeds.checks.registry import CHECKS
from reeds.numbers.quantity import Known
from reeds.numbers.registry import REGISTRY
from reeds.numbers.words import Stage

# their findings are each about one quantity, and a demonstration names that
BY_QUANTITY = {limits.KEY, missing.KEY, seen.KEY, bench.KEY}


def subjects(known: Known = REGISTRY) -> list[tuple[str, list[tuple[str, str]]]]:
    """Return what a demonstration can be of, in groups: stages, quantities, findings of several numbers.

    `known` is what the studio knows.
    """
    checks = [(f"check:{one.key}", _(one.name)) for one in CHECKS if one.key not in BY_QUANTITY]
    return [
        (_("a stage"), [(f"stage:{stage.value}", _(stage.label)) for stage in Stage]),
        (_("a finding of one number"), [(f"quantity:{key}", _(one.name)) for key, one in known.items()]),
        (_("another finding"), checks),
    ]


def subject_named(key: str, known: Known = REGISTRY) -> str:
    """Return a subject in words, '' for nothing named or no longer known."""
    return next((name for _group, rows in subjects(known) for one, name in rows if one == key), "")
