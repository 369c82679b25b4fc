"""Numbers for eyes: as the reader's language writes them, with a minus sign where a keyboard has a hyphen.

What is typed again or read by a machine (a field's value, JSON, CSV) keeps the hyphen.
"""

from __future__ import annotations

from django.utils.formats import number_format

MINUS = "\N{MINUS SIGN}"


def for_eyes(value: float | str, decimals: int | None = None) -> str:
    """Return a number as one reads it, to so many decimals."""
    return with_minus(number_format(value, decimals))


def with_minus(number: str) -> str:
    """Return a written number with the sign before it as people print it."""
    return number.replace("-", MINUS, 1) if number.startswith("-") else number
