"""What people do with a photo of the opening: say that it shows it, keep its figures."""

from __future__ import annotations

import uuid

from django.db import transaction
from django.utils.translation import gettext as _

from reeds.photo.actions.look import ask_to_look
from reeds.photo.models.measuring import PhotoMeasuring
from reeds.photo.models.photo import Photo, View
from reeds.photo.vision.record import OutlineSet
from reeds.reed.actions import Entry, record
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.reed import Reed
from studio.errors import NotPossible
from studio.models import Member


@transaction.atomic
def is_the_opening(photo: Photo) -> None:
    """Note that a photo shows the opening, and have it looked at as such."""
    Photo.objects.filter(pk=photo.pk).update(view=View.OPENING)
    photo.view = View.OPENING
    ask_to_look(photo)


@transaction.atomic
def keep_opening(
    photo: Photo, by: Member, outline: OutlineSet, entries: list[Entry], key: uuid.UUID
) -> list[Measurement]:
    """Record the figures as numbers of the reed and keep the outline as it was set; a key counts once."""
    if not entries:
        raise NotPossible(
            _("Type the tip's width, or say which blade is up: without both nothing is left to keep.")
        )
    reed = Reed.objects.select_for_update().get(pk=photo.reed_id)
    rows = record(reed, by, entries, key=key)
    row = PhotoMeasuring.objects.begun(photo)
    PhotoMeasuring.objects.filter(pk=row.pk).update(reference=outline.to_json(), measured_by=by)
    return rows
