"""Time zones to choose from: real places, by area and town."""

from __future__ import annotations

import zoneinfo
from functools import cache, lru_cache
from typing import Any

from django import forms
from django.forms.utils import flatatt
from django.utils.html import conditional_escape, format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe

AREAS = (
    "Africa",
    "America",
    "Antarctica",
    "Arctic",
    "Asia",
    "Atlantic",
    "Australia",
    "Europe",
    "Indian",
    "Pacific",
)


def places(*own: str) -> list[tuple[str, str]]:
    """Return the choices of a form, with what is chosen already, though it be no place."""
    zones = sorted({*_places(), *filter(None, own)})
    return [(zone, zone.replace("_", " ")) for zone in zones]


def places_and_utc() -> list[tuple[str, str]]:
    """Return the choices of a studio, which may keep no place's time."""
    return [*places(), ("UTC", "UTC")]


class ZoneSelect(forms.Select):
    """A select of some six hundred options: they are written once, and each page marks the chosen one."""

    def render(self, name: str, value: Any, attrs: Any = None, renderer: Any = None) -> SafeString:  # noqa: ANN401  # as Django calls it
        given = flatatt(self.build_attrs(self.attrs, {"name": name, **(attrs or {})}))
        option = f'<option value="{conditional_escape(value)}"'
        options = _options(tuple(self.choices)).replace(f"{option}>", f"{option} selected>")
        return format_html("<select{}>\n{}\n</select>", given, mark_safe(options))  # noqa: S308  # both escaped


@cache
def _places() -> frozenset[str]:
    """The system's list, which is a walk through its folders."""
    return frozenset(zone for zone in zoneinfo.available_timezones() if zone.partition("/")[0] in AREAS)


@lru_cache(maxsize=16)
def _options(choices: tuple[tuple[str, str], ...]) -> str:
    return format_html_join("\n", '<option value="{}">{}</option>', choices)
