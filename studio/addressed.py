"""Addresses of pages, which a page writes by the hundred: the pattern of each is looked up once."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from django.conf import settings
from django.urls import get_script_prefix, get_urlconf, reverse

# stands where the number of a row goes; no row is so far away
PLACE = 10**15
Shape = tuple[str | None, ...]


def address_of(name: str, *args: Any) -> str:  # noqa: ANN401  # as reverse() takes them
    """Return what reverse() does; for numbers of rows without going through all patterns again."""
    shape: list[str | None] = []
    numbers: list[int] = []
    for arg in args:
        if type(arg) is int and arg >= 0:
            numbers.append(arg)
            shape.append(None)
        elif type(arg) is str:
            shape.append(arg)
        else:
            return reverse(name, args=args)
    urlconf = get_urlconf() or settings.ROOT_URLCONF
    return _pattern(urlconf, get_script_prefix(), name, tuple(shape)) % tuple(numbers)


@lru_cache(maxsize=1000)
def _pattern(_urlconf: str, _prefix: str, name: str, shape: Shape) -> str:
    """The address with %d where its numbers go, as these patterns have it below this prefix."""
    places = [PLACE + k for k, word in enumerate(shape) if word is None]
    numbers = iter(places)
    address = reverse(name, args=[next(numbers) if word is None else word for word in shape])
    address = address.replace("%", "%%")
    for place in places:
        address = address.replace(str(place), "%d")
    return address
