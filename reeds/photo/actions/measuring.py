"""What people do with a measured photo: look at it anew, keep its lengths; one transaction each."""

from __future__ import annotations

import uuid

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from reeds.photo.measuring import Given, Result, as_json
from reeds.photo.models.measuring import PhotoMeasuring
from reeds.photo.models.photo import Photo
from reeds.photo.tasks.look import flatten_photo
from reeds.reed.actions import Entry, record
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.reed import Reed
from studio.errors import NotPossible
from studio.models import Member


@transaction.atomic
def keep_lengths(
    photo: Photo, by: Member, given: Given, result: Result, entries: list[Entry], key: uuid.UUID
) -> list[Measurement]:
    """Record what was measured, and how, so that the photo can be laid beside others; a key counts once."""
    if not entries:
        raise NotPossible(_("Tick at least one length to keep."))
    reed = Reed.objects.select_for_update().select_related("owner").get(pk=photo.reed_id)
    if reed.measurements.filter(key=key).exists():
        return list(reed.measurements.filter(key=key))
    rows = record(reed, by, entries, key=key)
    PhotoMeasuring.objects.filter(photo=photo).update(
        scale=given.scale,
        card=given.card,
        reference={"mm": given.known_mm, "points": [list(point) for point in given.reference]},
        heights=list(given.heights or ()),
        landmarks={name: [round(v, 2) for v in place] for name, place in given.points.items()},
        camera=result.camera.to_json(),
        lengths=as_json(result.lengths),
        measured_by=by,
        measured_at=timezone.now(),
    )
    transaction.on_commit(lambda: flatten_photo.enqueue(photo.pk))
    return rows
