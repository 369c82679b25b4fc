"""Measures photos of the demo as a person does on the measuring page, with the app's own card and camera."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Mapping
from dataclasses import replace
from functools import partial

from django.db import transaction
from django.db.models import Exists, OuterRef

from lessons.demo.answers import NAMESPACE
from lessons.sending.models import Submission
from reeds.numbers.words import Moisture, Stage
from reeds.photo.actions.lengths import keep_lengths
from reeds.photo.actions.look import ask_to_look
from reeds.photo.measuring import Given, result_of
from reeds.photo.models.card import PrintedCard
from reeds.photo.models.measuring import PhotoMeasuring
from reeds.photo.models.photo import Photo
from reeds.photo.pages.keep import entries_from, landmarks_for, quantities_for, staple_of
from reeds.photo.tasks.look import flatten_photo, look_at_photo
from reeds.reed.models.measurement import Measurement
from studio.models import Studio


def look_at_the_others(studio: Studio) -> None:
    """Have the worker look at every photo that nobody measured, those that wait for an answer first."""
    waiting = Submission.objects.waiting().filter(photos=OuterRef("pk"))
    rows = Photo.objects.filter(studio=studio, measuring=None).annotate(waits=Exists(waiting))
    photos = list(rows.order_by("-waits", "-sent_at"))
    for photo in photos:
        transaction.on_commit(partial(ask_to_look, photo))


def measure_photo(
    photo: Photo,
    card: PrintedCard,
    seen: Mapping[str, tuple[float, float]],
    stage: Stage,
    moment: dt.datetime,
) -> None:
    """Look at a photo as the worker does, set the points where they are seen, keep the lengths."""
    look_at_photo.func(photo.pk)
    reed, by = photo.reed, photo.reed.owner
    quantities = quantities_for(reed)
    given = Given({name: seen[name] for name in landmarks_for(quantities) if name in seen}, card=card)
    result = result_of(photo, PhotoMeasuring.objects.get(photo=photo), given)
    told = entries_from(result.lengths, quantities, staple_of(reed)).values()
    key = uuid.uuid5(NAMESPACE, f"measured {by.person.username} {reed.number}")
    keep_lengths(photo, by, given, result, [replace(one, moisture=Moisture.WET) for one in told], key)
    Measurement.objects.filter(photo=photo).update(at=moment, entered_at=moment, stage=stage)
    PhotoMeasuring.objects.filter(photo=photo).update(measured_at=moment)
    flatten_photo.func(photo.pk)
