"""Time zones to choose from: real places, by area and town."""

from __future__ import annotations

import zoneinfo

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
    known = (zone for zone in zoneinfo.available_timezones() if zone.partition("/")[0] in AREAS)
    zones = sorted({*known, *filter(None, own)})
    return [(zone, zone.replace("_", " ")) for zone in zones]


def places_and_utc() -> list[tuple[str, str]]:
    """Return the choices of a studio, which may keep no place's time."""
    return [*places(), ("UTC", "UTC")]
