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
    shape = tuple(None if type(arg) is int and arg >= 0 else arg for arg in args)
    if any(type(arg) is not str for arg in shape if arg is not None) or None in args:
        return reverse(name, args=args)
    numbers = tuple(arg for arg, word in zip(args, shape, strict=True) if word is None)
    return _pattern(get_urlconf() or settings.ROOT_URLCONF, get_script_prefix(), name, shape) % numbers


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
