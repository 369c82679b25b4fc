"""Simulated photos of a reed on the card, as rows the worker has prepared, with their truth."""

from __future__ import annotations

import functools

import numpy as np
from django.core.files.base import ContentFile

from reeds.photo.models.photo import Photo, PhotoState
from reeds.photo.tasks.look import look_at_photo
from reeds.reed.models.reed import Reed
from tests import factories as make
from tests.printed import card_picture
from tests.simulator.photo import Conditions, card_photo
from tests.simulator.photo import Photo as Simulated

LEVEL = Conditions(megapixels=(2, 2.5), roll=(-8, 8), tilt=(0, 15), distance=(200, 300), shadow=(0, 0.3))

WIDE = Conditions(megapixels=(2, 2.5), roll=(-3, 3), tilt=(0, 5), distance=(380, 400), shadow=(0, 0.2))


@functools.cache
def simulated(seed: int = 7, conditions: Conditions = LEVEL) -> Simulated:
    """Return one simulated photo; the same seed gives the same."""
    return card_photo(np.random.default_rng(seed), card_picture(), (148, 105), (36, 52.5), conditions)


def photo_row(reed: Reed, truth: Simulated, **given: object) -> Photo:
    """Return the photo as the worker leaves it once its copies are made."""
    height, width = truth.rgb.shape[:2]
    row = Photo(
        studio=reed.studio,
        reed=reed,
        by=reed.owner,
        state=PhotoState.READY,
        width=width,
        height=height,
        focal_35mm=round(truth.focal_35mm),
        **given,
    )
    for copy in ("upright", "screen", "thumbnail"):
        getattr(row, copy).save(f"{copy}.jpg", ContentFile(truth.jpeg()), save=False)
    row.save()
    return row


def looked_at(seed: int = 7) -> Photo:
    """Make a photo of a teacher's student, at which the worker looked."""
    student = make.student(studio=make.teacher().studio)
    reed = make.ReedFactory(owner=student, stage="finishing", staple_length=47.0)
    photo = photo_row(reed, simulated(seed))
    look_at_photo.func(photo.pk)
    return photo


def true_points(truth: Simulated) -> dict[str, list[float]]:
    """Return the landmarks as they are, in the shape the page sends."""
    return {name: [float(p[0]), float(p[1])] for name, p in truth.marks.items()}


def beside(truth: Simulated, mm: float) -> tuple[list[list[float]], list[list[float]]]:
    """Return two marks of a ruler and the corners of a bank card, where the simulated camera sees them."""
    ruler = truth.view.see(np.array([[20.0, 112, 0.5], [20.0 + mm, 112, 0.5]]))
    card = np.array([[30, 110, 0.76], [115.6, 110, 0.76], [115.6, 163.98, 0.76], [30, 163.98, 0.76]])
    return ruler.tolist(), truth.view.see(card).tolist()
