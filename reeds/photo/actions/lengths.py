"""What people do with a measured photo: keep its lengths."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from dataclasses import replace

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from reeds.photo.measuring import Given, PhotoLengths
from reeds.photo.models.measuring import PhotoMeasuring
from reeds.photo.models.photo import Photo
from reeds.photo.tasks.look import flatten_photo
from reeds.photo.vision.record import MM_DECIMALS, LengthsKept
from reeds.reed.actions import Entry, record
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.reed import Reed
from studio.errors import NotPossible
from studio.models import Member


@transaction.atomic
def keep_lengths(
    photo: Photo, by: Member, given: Given, result: PhotoLengths, entries: Iterable[Entry], key: uuid.UUID
) -> list[Measurement]:
    """Record what was measured, and how, so that the photo can be laid beside others; a key counts once."""
    told = [replace(one, value=_rounded(one.value), u=_rounded(one.u), photo=photo) for one in entries]
    if not told:
        raise NotPossible(_("Tick at least one length to keep."))
    reed = Reed.objects.select_for_update().select_related("owner").get(pk=photo.reed_id)
    if reed.measurements.filter(key=key).exists():
        return list(reed.measurements.filter(key=key))
    rows = record(reed, by, told, key=key)
    row = PhotoMeasuring.objects.begun(photo)
    PhotoMeasuring.objects.filter(pk=row.pk).update(
        scale=given.scale,
        card=given.card,
        **LengthsKept(given.beside, given.heights, given.points, result.camera, result.lengths).to_json(),
        measured_by=by,
        measured_at=timezone.now(),
    )
    flatten_photo.enqueue(photo.pk)
    return rows


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, MM_DECIMALS)
