"""Addresses of pages, which a page writes by the hundred: the pattern of each is looked up once."""

from __future__ import annotations

from functools import cache
from typing import Any

from django.conf import settings
from django.urls import get_script_prefix, get_urlconf, reverse

# no row is so far away
PLACES = range(10**15, 10**15 + 9)


def address_of(name: str, *args: Any) -> str:  # noqa: ANN401  # as reverse() takes them
    """Return what reverse() does; for numbers of rows without going through all patterns again."""
    if len(args) > len(PLACES) or any(type(arg) is not int or arg < 0 for arg in args):
        return reverse(name, args=args)
    return _pattern(get_urlconf() or settings.ROOT_URLCONF, get_script_prefix(), name, len(args)) % args


@cache
def _pattern(_urlconf: str, _prefix: str, name: str, count: int) -> str:
    """The address with %d where its numbers go, as these patterns have it below this prefix."""
    places = PLACES[:count]
    address = reverse(name, args=places).replace("%", "%%")
    for place in places:
        address = address.replace(str(place), "%d")
    return address
