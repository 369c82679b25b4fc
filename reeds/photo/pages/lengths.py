"""What the measuring page shows and hands to its script."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.formats import number_format
from django.utils.translation import gettext as _

from reeds.numbers.measured import Measured, rounded
from reeds.numbers.registry import QUANTITIES
from reeds.photo.forms.lengths import NEEDED, REFERENCES
from reeds.photo.measuring import Given, PhotoLengths, result_of
from reeds.photo.models.card import PrintedCard
from reeds.photo.models.measuring import PhotoMeasuring, ScaleKind
from reeds.photo.models.photo import Photo
from reeds.photo.pages.keep import (
    NAMES,
    PLACES,
    TAKEN_FROM,
    WIDTHS_MM,
    entries_from,
    is_plausible,
    landmarks_for,
    quantities_for,
    staple_of,
)
from reeds.photo.vision.lengths import LENGTHS
from reeds.photo.vision.refusal import PhotoRefused
from reeds.reed.actions import Entry
from reeds.reed.models.reed import Reed
from studio.models import Member


@dataclass(frozen=True)
class PhotoBench:
    """A photo on the measuring page: its reed, what can be told of it, where the points stand now."""

    photo: Photo
    row: PhotoMeasuring
    quantities: list[str]
    staple: Measured | None
    cards: list[PrintedCard]
    given: Given

    @property
    def landmarks(self) -> list[str]:
        """The landmarks that make sense at the reed's stage."""
        return landmarks_for(self.quantities)


def bench_of(photo: Photo, row: PhotoMeasuring, member: Member) -> PhotoBench:
    """Gather what the page needs; the points are those kept last, else those proposed."""
    reed: Reed = photo.reed
    cards = list(PrintedCard.objects.visible_to(member))
    quantities = quantities_for(reed)
    wanted = landmarks_for(quantities)
    source = row.kept.landmarks or row.found.proposed.points
    points = {name: source[name] for name in wanted if name in source}
    return PhotoBench(photo, row, quantities, staple_of(reed), cards, _given(row, points, reed.owner, cards))


def _given(
    row: PhotoMeasuring, points: dict[str, tuple[float, float]], owner: Member, cards: list[PrintedCard]
) -> Given:
    if row.measured_at is None:
        scale = ScaleKind.CARD if row.found.markers else ScaleKind.KNOWN
        on_card = scale == ScaleKind.CARD
        likely = PhotoMeasuring.objects.visible_to(owner).likely_card(owner, cards) if on_card else None
        return Given(points, scale, likely)
    kept = row.kept
    return Given(points, ScaleKind(row.scale), row.card, kept.beside, kept.heights)


def first_result(bench: PhotoBench) -> PhotoLengths | None:
    """Return what the points give as they stand, or None where something is missing yet."""
    if bench.given.scale != ScaleKind.CARD and not bench.given.beside.points:
        return None
    try:
        return result_of(bench.photo, bench.row, bench.given)
    except PhotoRefused:
        return None


def script_data(
    bench: PhotoBench, result: PhotoLengths | None, addresses: Mapping[str, str]
) -> dict[str, Any]:
    """Return what the page's script starts from, as plain JSON types."""
    return {
        **addresses,
        "width": bench.photo.width,
        "height": bench.photo.height,
        "points": _points(bench),
        "sizes": {name: WIDTHS_MM[name] for name in bench.landmarks if name in WIDTHS_MM},
        "rows": [_sum(key, bench.staple) for key in bench.quantities],
        "needed": {scale.value: list(names) for scale, names in NEEDED.items()},
        "answer": answer_of(bench, result) if result else None,
    }


def _points(bench: PhotoBench) -> dict[str, dict[str, Any]]:
    spots = dict(zip(NEEDED[bench.given.scale], bench.given.beside.points, strict=False))
    reed = {name: {"name": _(NAMES[name]), "at": bench.given.points.get(name)} for name in bench.landmarks}
    beside = {name: {"name": _(said), "at": spots.get(name)} for name, said in REFERENCES.items()}
    return {**reed, **beside}


def _sum(key: str, staple: Measured | None) -> dict[str, Any]:
    """Return how the page's script makes a quantity from distances: their sum, less the staple's length."""
    of, less = [LENGTHS[TAKEN_FROM.get(key, key)]], 0.0
    if key == "thread_past_staple":
        return {"key": key, "of": of if staple else [], "less": staple.value if staple else 0.0}
    if key == "bark_length" and staple is not None:
        of, less = [*of, LENGTHS["foot_to_thread_end"]], staple.value
    return {"key": key, "of": of, "less": less}


def entries_of(bench: PhotoBench, result: PhotoLengths) -> dict[str, Entry]:
    """Return the quantities that a result gives, by their key."""
    return entries_from(result.lengths, bench.quantities, bench.staple)


def answer_of(bench: PhotoBench, result: PhotoLengths) -> dict[str, Any]:
    """Return the matrices, every quantity with its doubt, and the remarks, as plain JSON types."""
    return {
        "matrices": {name: matrix.tolist() for name, matrix in result.matrices.items()},
        "lengths": {key: _shown(one) for key, one in entries_of(bench, result).items()},
        "warnings": [_(sentence) for sentence in result.warnings],
    }


def _shown(one: Entry) -> dict[str, Any]:
    unlikely = "" if is_plausible(one) else _("cannot be right: look at the points again")
    value, u = one.value or 0.0, one.u or 0.0
    shown, decimals = rounded(Measured(value, u), one.quantity.decimals)
    doubt = number_format(shown.u, decimals)
    return {"value": value, "u": u, "doubt": doubt, "decimals": decimals, "unlikely": unlikely}


def rows_of(bench: PhotoBench) -> list[dict[str, Any]]:
    """Return the list of quantities for the template, each with the landmarks it needs."""
    rows = []
    for key in bench.quantities:
        ends = [NAMES[name] for name in LENGTHS[TAKEN_FROM.get(key, key)]]
        lacks = key == "thread_past_staple" and bench.staple is None
        rows.append({"of": QUANTITIES[key], "from": ends[0], "to": ends[1], "lacks_staple": lacks})
    return rows


def places_of(bench: PhotoBench) -> list[dict[str, str]]:
    """Return the landmarks for the template: key, name, and where exactly it is."""
    return [{"key": name, "name": NAMES[name], "where": PLACES[name]} for name in bench.landmarks]
