"""Looking at photos, done by the worker: the card, the landmarks, the flat cut. Twice is the same as once."""

from __future__ import annotations

import io
import uuid
from pathlib import PurePosixPath

import numpy as np
from django.core.files.base import ContentFile
from django_tasks import task
from PIL import Image

from reeds.numbers.words import gettext_noop
from reeds.photo.models.measuring import OPENING, LookState, PhotoMeasuring, wanted_in
from reeds.photo.models.photo import Photo, PhotoState
from reeds.photo.vision.camera import Frame
from reeds.photo.vision.card_view import Settings, find_card, grey, propose, solve_card
from reeds.photo.vision.decode import to_measure
from reeds.photo.vision.flatten import flatten
from reeds.photo.vision.gap import find_outline
from reeds.photo.vision.lengths import Clicks
from reeds.photo.vision.markers import MIRRORED, is_mirrored
from reeds.photo.vision.plane import card_plane
from reeds.photo.vision.record import ReedFound
from reeds.photo.vision.refusal import PhotoRefused
from reeds.photo.vision.upright import UprightPicture

GONE = gettext_noop("The file of this photo is gone. Send it again.")


@task()
def look_at_photo(photo_id: int) -> None:
    """Find the card and propose landmarks, or find the opening's outline; keep why not where it cannot."""
    photo = Photo.objects.kept().filter(pk=photo_id, state=PhotoState.READY).first()
    if photo is None:
        return
    row = PhotoMeasuring.objects.begun(photo)
    if row.is_looked_at:
        return  # done before
    wanted = wanted_in(photo)
    found = _looked(photo, wanted)
    PhotoMeasuring.objects.filter(pk=row.pk).update(**found, looked_for=wanted)


def _looked(photo: Photo, wanted: str) -> dict[str, object]:
    try:
        picture = picture_of(photo)
        return _outline(picture) if wanted == OPENING else _reed(picture)
    except FileNotFoundError:
        return {"state": LookState.NOT_FOUND, "refusal": GONE}
    except PhotoRefused as refusal:
        return {"state": LookState.NOT_FOUND, "refusal": refusal.sentence}


def picture_of(photo: Photo) -> UprightPicture:
    """Decode the photo's upright copy; raises FileNotFoundError where it is gone."""
    with photo.upright.open("rb") as file, Image.open(file, formats=["JPEG"]) as image:
        return to_measure(image, photo.usual_focal)


def _reed(picture: UprightPicture) -> dict[str, object]:
    found = find_card(picture)
    settings = Settings()
    view = solve_card(found, Frame(*picture.size), settings, settings.focal_of(picture))
    try:
        clicks, said = propose(picture, view), ""
    except PhotoRefused as refusal:  # the card is there, the reed has to be pointed out by a person
        clicks, said = Clicks({}), refusal.sentence
    laid = card_plane(view.solved, view.factor, clicks).to_json()
    return {"state": LookState.FOUND, "refusal": said, "laid": laid, **ReedFound(found, clicks).to_json()}


def _outline(picture: UprightPicture) -> dict[str, object]:
    if is_mirrored(grey(picture)):
        raise PhotoRefused(MIRRORED)
    return {"state": LookState.FOUND, "refusal": "", "outline": find_outline(picture).to_json()}


@task()
def flatten_photo(photo_id: int) -> None:
    """Cut a measured photo out flat at true scale; drop the cut it replaces."""
    row = PhotoMeasuring.objects.measured().filter(photo=photo_id).select_related("photo").first()
    if row is None or row.flat_of == row.measured_at or row.photo.taken_back_at:
        return
    kept = row.kept
    if kept.camera is None:
        return
    try:
        flat = flatten(picture_of(row.photo), kept.camera.numbers, kept.landmarks, kept.camera.heights)
    except (PhotoRefused, FileNotFoundError):
        return
    old, row.flat_of = row.flat.name, row.measured_at
    row.flat.save(_beside(row.photo), _jpeg(flat), save=False)
    PhotoMeasuring.objects.filter(pk=row.pk).update(flat=row.flat.name, flat_of=row.flat_of)
    if old:
        row.flat.storage.delete(old)


def _beside(photo: Photo) -> str:
    # a name of its own each time, so that no browser shows the cut of landmarks that were moved since
    return str(PurePosixPath(str(photo.upright.name)).with_name(f"{uuid.uuid4().hex}-flat.jpg"))


def _jpeg(rgb: np.ndarray) -> ContentFile[bytes]:
    buffer = io.BytesIO()
    Image.fromarray(rgb).save(buffer, "JPEG", quality=88)
    return ContentFile(buffer.getvalue())
