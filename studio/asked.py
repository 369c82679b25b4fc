"""What an address or a form asks for, read without trusting it: whole numbers, rows, a term."""

from __future__ import annotations

from collections.abc import Iterable

from django.http import HttpRequest
from django.utils import timezone

from studio.access import fetch
from studio.models import Member, Term

LONGEST_NUMBER = 18  # digits: more fit no row's number


def tries_in(request: HttpRequest) -> int:
    """Return how often a page that waits for the worker has asked; 1 where it does not say."""
    tries = request.GET.get("tries", "")
    return int(tries[:3]) if tries.isdecimal() else 1


def row_numbers(given: Iterable[str]) -> list[int]:
    """Return the numbers of rows, 0 for each that is none."""
    return [int(one) if one.isdecimal() and len(one) <= LONGEST_NUMBER else 0 for one in given]


def term_asked(member: Member, asked: str) -> Term | None:
    """Return the term of this number, without one today's; 404 for what is no term of the member's studio."""
    terms = Term.objects.visible_to(member).select_related("studio")
    return fetch(terms, member, *row_numbers([asked])) if asked else terms.holding(timezone.localdate())
