"""Whether this machine can set type: WeasyPrint draws with Pango, which no package of Python brings along."""

from __future__ import annotations

import ctypes
from collections.abc import Iterable
from functools import cache
from typing import Any

from django.core.checks import CheckMessage, Warning, register

# as WeasyPrint looks for them: Linux, macOS, Windows
NAMES = (
    ("libpango-1.0.so.0", "libpango-1.0.dylib", "libpango-1.0-0.dll"),
    ("libpangoft2-1.0.so.0", "libpangoft2-1.0.dylib", "libpangoft2-1.0-0.dll"),
)
PACKAGES = ("libpango-1.0-0", "libpangoft2-1.0-0")  # Debian's


def _is_there(names: Iterable[str]) -> bool:
    for name in names:
        try:
            ctypes.CDLL(name)
        except OSError:
            continue
        return True
    return False


@cache
def can_press() -> bool:
    """Whether Pango is installed; asked once a process."""
    return all(map(_is_there, NAMES))


@register()
def pango_is_installed(**_given: Any) -> list[CheckMessage]:  # noqa: ANN401  # as Django calls it
    """Say in a sentence that letters are not made as PDF here."""
    if can_press():
        return []
    return [
        Warning(
            "Pango is not installed: no letter is made as PDF here, though its page can be printed.",
            hint=f"Install the packages {' and '.join(PACKAGES)} (Debian), or pango (Homebrew).",
            id="lessons.W001",
        )
    ]
