"""What an address or a form asks for, read without trusting it: whole numbers, rows, a term."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence

from django.db.models import QuerySet
from django.http import Http404, HttpRequest
from django.utils import timezone

from studio.access import Seer
from studio.models import Member, Term
from studio.prepared import prepared

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
    return term_among(terms_of(member), asked)


def term_among(terms: Sequence[Term], asked: str) -> Term | None:
    """Return the same of a studio's terms, where they are at hand."""
    if not asked:
        return holding(terms, timezone.localdate())
    found = next((one for one in terms if one.pk == row_numbers([asked])[0]), None)
    if found is None:
        raise Http404
    return found


def holding(terms: Sequence[Term], day: dt.date) -> Term | None:
    """Return the term of that day, else the last one that began before it, else the first to come.

    `terms` come newest first.
    """
    begun = (one for one in terms if one.starts_on <= day)
    return next(begun, None) or next(reversed(terms), None)


def terms_of(member: Member) -> list[Term]:
    """Return the terms of a member's studio, the newest first."""
    rows = _terms(member)
    for row in rows:
        row.studio = member.studio
    return rows


@prepared
def _terms(member: Seer) -> QuerySet[Term]:
    return Term.objects.visible_to(member)
