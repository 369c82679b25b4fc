"""What people do to check the tool: say what a caliper says of a photo's lengths."""

from __future__ import annotations

from collections.abc import Mapping

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from reeds.numbers.quantity import u_of_length
from reeds.numbers.words import Method
from reeds.photo.models.measuring import PhotoMeasuring
from reeds.photo.models.photo import Photo
from reeds.photo.models.tool import ToolReading
from reeds.sheet.models.doubt import OwnDoubt
from studio.errors import NotPossible
from studio.models import Member

# further apart than this is another reed or a misread scale, and no error of the tool
FARTHEST_MM = 5.0


@transaction.atomic
def note_by_caliper(photo: Photo, by: Member, typed: Mapping[str, float]) -> int:
    """Keep what a caliper says of lengths kept from a photo, mm by quantity; return how many."""
    row = PhotoMeasuring.objects.measured().filter(photo=photo).first()
    seen = row.kept.lengths if row else {}
    told = {key: mm for key, mm in typed.items() if key in seen}
    if not told:
        raise NotPossible(_("Type at least one length by caliper."))
    if any(abs(mm - seen[key].value) > FARTHEST_MM for key, mm in told.items()):
        raise NotPossible(_("That is over 5 mm from the photo: is it this reed, and this length?"))
    u = u_of_length(Method.CALIPER, OwnDoubt.objects.of(photo.studio_id))
    for key, mm in told.items():
        both = {"seen_mm": seen[key].value, "seen_u": seen[key].u, "held_mm": mm, "held_u": u}
        ToolReading.objects.update_or_create(
            studio_id=photo.studio_id,
            photo=photo,
            quantity=key,
            defaults={**both, "by": by, "at": timezone.now()},
        )
    return len(told)
