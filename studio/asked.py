"""Whole numbers in what an address or a form says, read without trusting it."""

from __future__ import annotations

from collections.abc import Iterable

from django.http import HttpRequest

LONGEST_NUMBER = 18  # digits: more fit no row's number


def tries_in(request: HttpRequest) -> int:
    """Return how often a page that waits for the worker has asked; 1 where it does not say."""
    tries = request.GET.get("tries", "")
    return int(tries[:3]) if tries.isdecimal() else 1


def row_numbers(given: Iterable[str]) -> list[int]:
    """Return the numbers of rows, 0 for each that is none."""
    return [int(one) if one.isdecimal() and len(one) <= LONGEST_NUMBER else 0 for one in given]
