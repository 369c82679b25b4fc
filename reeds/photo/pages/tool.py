"""What the page shows on which the tool is checked: photos that can serve, and what came out so far."""

from __future__ import annotations

from dataclasses import dataclass

from reeds.numbers.agreement import Agreement, agreement
from reeds.numbers.quantity import Quantity
from reeds.numbers.registry import QUANTITIES
from reeds.photo.forms.tool import CaliperForm
from reeds.photo.models.measuring import PhotoMeasuring
from reeds.photo.models.photo import Photo
from reeds.photo.models.tool import ENOUGH_PHOTOS, ToolReading
from studio.models import Member

# what a caliper can take of a finished reed as well as a photo can
CHECKED = ("overall_length", "cane_beyond_thread", "tip_width")
MOST_PHOTOS = 6


@dataclass(frozen=True)
class ToCheck:
    """A measured photo of one's own, with the form for its lengths."""

    photo: Photo
    form: CaliperForm
    done: bool


@dataclass(frozen=True)
class CameOut:
    """How one length by photo agrees with the caliper in this studio."""

    quantity: Quantity
    agreement: Agreement
    enough: bool


def checkable(row: PhotoMeasuring) -> list[str]:
    """Return the lengths kept of a photo that a caliper can check."""
    return [key for key in CHECKED if key in row.kept.lengths]


def checkable_of(photo: Photo, member: Member) -> list[str]:
    """Return the lengths that a caliper can check of a photo, none where none were kept of it."""
    row = PhotoMeasuring.objects.visible_to(member).measured().filter(photo=photo).first()
    return checkable(row) if row else []


def photos_to_check(member: Member, bound: tuple[int, CaliperForm] | None = None) -> list[ToCheck]:
    """Return the newest measured photos of the member's own reeds; `bound` is a form just sent, by photo."""
    rows = (
        PhotoMeasuring.objects.visible_to(member)
        .measured()
        .filter(photo__reed__owner=member, photo__taken_back_at=None)
        .select_related("photo__reed")
        .order_by("-measured_at")[:MOST_PHOTOS]
    )
    done = set(ToolReading.objects.visible_to(member).values_list("photo", flat=True))
    found = []
    for row in rows:
        fresh = CaliperForm(checkable(row), auto_id=f"photo-{row.photo_id}-%s")
        form = bound[1] if bound and bound[0] == row.photo_id else fresh
        found.append(ToCheck(row.photo, form, row.photo_id in done))
    return found


def came_out(member: Member) -> list[CameOut]:
    """Return what came out of each length: of the whole studio for a teacher, else of one's own."""
    rows = ToolReading.objects.visible_to(member)
    pairs = {key: rows.of_length(key).pairs() for key in CHECKED}
    return [
        CameOut(QUANTITIES[key], agreement(both), len(both) >= ENOUGH_PHOTOS)
        for key, both in pairs.items()
        if both
    ]
