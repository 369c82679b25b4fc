"""Two measured photos laid side by side at one scale: which one may take, and what differs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

from django.http import Http404
from django.utils.translation import gettext as _

from reeds.numbers.measured import Measured
from reeds.numbers.words import gettext_noop
from reeds.photo.models.measuring import PhotoMeasuring, PhotoMeasuringQuerySet
from reeds.photo.models.photo import Photo
from reeds.photo.vision.flatten import WINDOW
from studio.models import Member

MOST = 60
# expanded uncertainty k = 2: about 95 %
K = 2.0
NAMES = {
    "overall_length": gettext_noop("foot of the staple to tip"),
    "foot_to_thread_end": gettext_noop("foot of the staple to end of the thread"),
    "cane_beyond_thread": gettext_noop("cane beyond the thread"),
    "scrape_length": gettext_noop("scrape length"),
    "bark_length": gettext_noop("end of the thread to start of the scrape"),
    "back_length": gettext_noop("back length"),
    "heart_length": gettext_noop("heart length"),
    "tip_length": gettext_noop("tip length"),
    "tip_width": gettext_noop("width at the tip"),
}
OWN, BEFORE, OTHERS, MODELS = (
    gettext_noop("This reed"),
    gettext_noop("The reed before"),
    gettext_noop("Other reeds"),
    gettext_noop("Model reeds of the studio"),
)


def _measured(member: Member) -> PhotoMeasuringQuerySet:
    """Return the measured photos this member may lay beside others; without foot and tip none can be laid."""
    rows = PhotoMeasuring.objects.measured().filter(photo__in=Photo.objects.to_compare(member))
    flat = rows.filter(camera__isnull=False, landmarks__has_keys=["staple_foot", "tip"])
    return flat.select_related("photo__reed__owner__person").order_by("-measured_at", "-pk")


def measured_photos(member: Member) -> list[PhotoMeasuring]:
    """Return the newest measured photos that this member may lay beside others."""
    return list(_measured(member)[:MOST])


def measured_photo(member: Member, pk: int) -> PhotoMeasuring:
    """Return one measured photo that this member may lay beside others, or answer 404."""
    row: PhotoMeasuring | None = _measured(member).filter(photo=pk).first()
    if row is None:
        raise Http404
    return row


def groups(rows: Iterable[PhotoMeasuring], first: PhotoMeasuring | None) -> dict[str, list[PhotoMeasuring]]:
    """Return the photos by how they stand to the first: its own reed, the one before, models, others."""
    sorted_rows = list(rows)
    before = _before(sorted_rows, first)
    found: dict[str, list[PhotoMeasuring]] = {OWN: [], BEFORE: [], MODELS: [], OTHERS: []}
    for row in sorted_rows:
        reed = row.photo.reed
        if first is not None and reed.pk == first.photo.reed_id:
            found[OWN].append(row)
        elif reed.pk == before:
            found[BEFORE].append(row)
        elif reed.is_model and reed.owner.teaches:
            found[MODELS].append(row)
        else:
            found[OTHERS].append(row)
    return {name: some for name, some in found.items() if some}


def _before(rows: list[PhotoMeasuring], first: PhotoMeasuring | None) -> int | None:
    """Return the newest earlier reed of the same owner that has a measured photo."""
    if first is None:
        return None
    of = first.photo.reed
    reeds = {row.photo.reed for row in rows if row.photo.reed.owner_id == of.owner_id}
    earlier = [reed for reed in reeds if reed.number < of.number]
    return max(earlier, key=lambda reed: reed.number).pk if earlier else None


@dataclass(frozen=True)
class Difference:
    """One length of two photos, and the second less the first."""

    name: str
    first: Measured
    second: Measured

    @property
    def change(self) -> Measured:
        """Second less first, with the joint doubt."""
        return self.second - self.first

    @property
    def is_told(self) -> bool:
        """Whether the change is larger than its doubt (k = 2)."""
        return abs(self.change.value) > K * self.change.u


def differences(first: PhotoMeasuring, second: PhotoMeasuring) -> list[Difference]:
    """Return every length that both photos have."""
    one, other = first.kept.lengths, second.kept.lengths
    return [
        Difference(_(name), one[key], other[key])
        for key, name in NAMES.items()
        if key in one and key in other
    ]


def ruler() -> dict[str, object]:
    """Return the ruler under the flat cuts: where each millimetre stands, from the foot."""
    return {"width": WINDOW.right - WINDOW.left, "marks": ruler_marks()}


class RulerMark(NamedTuple):
    """A millimetre from the foot, and where it stands on the flat cut."""

    mm: int
    at: float


def ruler_marks() -> list[RulerMark]:
    """Return the marks of that ruler."""
    return [RulerMark(mm, mm - WINDOW.left) for mm in range(int(WINDOW.right) + 1)]
