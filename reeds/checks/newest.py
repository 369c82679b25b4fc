"""Of all readings of a reed, the one of each quantity that the checks use."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime

from reeds.checks.facts import Reading
from reeds.numbers.quantity import Known
from reeds.numbers.registry import REGISTRY

# what a few strokes change, and what a clip changes as well: what was noted before is of another reed
CHANGED_BY_STROKES = frozenset(
    {"opening_height", "opening_area", "unevenness", "closing", "a4_cents", "crow"}
)
CHANGED_BY_CLIPS = frozenset({"a4_cents", "crow"})


def still_true(
    readings: Iterable[Reading], scraped_at: datetime | None, clipped_at: datetime | None
) -> list[Reading]:
    """Return the readings without those that the last strokes, or the last clip, made a thing of the past."""
    work = ((scraped_at, CHANGED_BY_STROKES), (clipped_at, CHANGED_BY_CLIPS))
    return [
        one
        for one in readings
        if not any(at and one.when and one.when < at and one.quantity in changed for at, changed in work)
    ]


def _age_key(reading: Reading, known: Known) -> tuple[bool, bool, float]:
    """Readings of the quantity's own stages first, then the newest."""
    own = reading.stage is None or reading.stage in known[reading.quantity].stages
    return own, reading.when is not None, reading.when.timestamp() if reading.when else 0.0


def newest(readings: Iterable[Reading], known: Known = REGISTRY) -> dict[str, Reading]:
    """Return for each quantity the reading the checks use: the newest taken at the quantity's stages.

    A reading from another stage is used only if there is no other; of two of the same moment the later
    in `readings` wins. It does not matter who measured. Unknown quantities are left out.
    """
    chosen: dict[str, Reading] = {}
    for reading in readings:
        if reading.quantity not in known:
            continue
        best = chosen.get(reading.quantity)
        if best is None or _age_key(reading, known) >= _age_key(best, known):
            chosen[reading.quantity] = reading
    return chosen


def others(readings: Iterable[Reading], known: Known = REGISTRY) -> dict[str, tuple[Reading, ...]]:
    """Return for each quantity the newest readings by another way or another person than the one used.

    Of each way and person one, at most; what somebody read again in the same way is put right, not doubted.
    """
    rows = [reading for reading in readings if reading.quantity in known]
    used = newest(rows, known)
    by_way: dict[tuple[str, str, bool], list[Reading]] = defaultdict(list)
    for reading in rows:
        by_way[reading.quantity, reading.method, reading.by_teacher].append(reading)
    found: dict[str, list[Reading]] = defaultdict(list)
    for (key, way, teacher), group in by_way.items():
        if (way, teacher) != (used[key].method, used[key].by_teacher):
            found[key].append(newest(group, known)[key])
    return {key: tuple(group) for key, group in found.items()}
