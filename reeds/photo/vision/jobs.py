"""What is done with a photo in a process of its own: bytes and plain values in, plain values out."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from typing import Any

import cv2
import numpy as np

from reeds.numbers.words import gettext_noop
from reeds.photo.vision.arrays import Floats, Pixels
from reeds.photo.vision.camera import Frame
from reeds.photo.vision.card_view import Settings, find_card, grey, propose, solve_card
from reeds.photo.vision.decode import DecodedPhoto, PhotoCutShort, decode, to_measure
from reeds.photo.vision.flatten import flatten
from reeds.photo.vision.gap import find_outline
from reeds.photo.vision.lengths import Clicks
from reeds.photo.vision.markers import MIRRORED, is_mirrored
from reeds.photo.vision.plane import card_plane
from reeds.photo.vision.quality import flaws_of
from reeds.photo.vision.record import ReedFound
from reeds.photo.vision.refusal import PhotoRefused
from reeds.photo.vision.sampling import other_order, within
from reeds.photo.vision.upright import UprightPicture
from reeds.photo.vision.whole import read_jpeg

SCREEN = 1600
# for who zooms in: a fraction of the bytes of the whole, and as many pixels as a phone shows of it threefold
LARGE = 2800
THUMBNAIL = 320
DAMAGED = gettext_noop("This photo is damaged: a part of the file is missing. Send it again.")
FLAT_QUALITY = 88


def prepare(data: bytes, zone: dt.tzinfo = dt.UTC) -> dict[str, Any]:
    """Return what is known of an upload, and its copies without anything that the phone put in.

    Parameters
    ----------
    data : bytes
        The upload.
    zone : tzinfo
        Where the camera is taken to have been if the file names no offset.

    Returns
    -------
    dict
        format, orientation, original_width, original_height, width, height (px), taken_at, focal_35mm (mm),
        flaws (words of `quality.Flaw`) and copies: JPEG by name, upright, large, screen and thumbnail.

    Raises
    ------
    PhotoRefused
        No picture that can be read, or one too large.
    """
    return _known(_decoded(data, zone))


def prepare_and_look(data: bytes, zone: dt.tzinfo, wanted: str, opening: str) -> Iterator[dict[str, Any]]:
    """Yield what `prepare` returns, then what `look` returns of the same picture, which is decoded once.

    Between the two it may raise PhotoRefused as `look`: then there are copies, and nothing to measure by.
    """
    decoded = _decoded(data, zone)
    yield _known(decoded)
    picture = to_measure(decoded.rgb, decoded.focal_35mm)
    del decoded  # as much memory as looking at the copy takes
    yield _found(picture, wanted, opening)


def _decoded(data: bytes, zone: dt.tzinfo) -> DecodedPhoto:
    try:
        return decode(data, zone)
    except PhotoCutShort:
        raise PhotoRefused(DAMAGED) from None


def _known(decoded: DecodedPhoto) -> dict[str, Any]:
    taken = decoded.taken_at
    shades = np.asarray(cv2.cvtColor(decoded.bgr, cv2.COLOR_BGR2GRAY), np.uint8)
    return {
        "format": decoded.format,
        "orientation": decoded.orientation,
        "original_width": decoded.stored_size[0],
        "original_height": decoded.stored_size[1],
        # in a zone that needs no name
        "taken_at": taken and taken.astimezone(dt.UTC),
        "focal_35mm": decoded.focal_35mm,
        "width": decoded.bgr.shape[1],
        "height": decoded.bgr.shape[0],
        "flaws": [flaw.value for flaw in flaws_of(shades)],
        "copies": copies_of(decoded.bgr),
    }


def copies_of(bgr: Pixels) -> dict[str, bytes]:
    """Return the copies that pages show, JPEG by name; "large" only of a picture that is larger still."""
    large = within(bgr, LARGE, quickly=True)
    screen = within(large, SCREEN, quickly=True)
    made = {
        # measured on: tests/accuracy/kept_copy.py tells what that loses, and that it weighs half
        "upright": jpeg(bgr, 92),
        "screen": jpeg(screen, 82),
        # by way of a half, which is quick: a mean of means
        "thumbnail": jpeg(within(within(screen, SCREEN // 2), THUMBNAIL), 80),
    }
    return made if large is bgr else {**made, "large": jpeg(large, 82)}


def jpeg(bgr: Pixels, quality: int, sampling: int = cv2.IMWRITE_JPEG_SAMPLING_FACTOR_420) -> bytes:
    """Encode upright pixels, blue first: no comment, profile or Exif of the phone can be in it."""
    chosen = [cv2.IMWRITE_JPEG_QUALITY, quality, cv2.IMWRITE_JPEG_SAMPLING_FACTOR, sampling]
    done, encoded = cv2.imencode(".jpg", bgr, chosen)
    if not done:
        raise ValueError("not encoded")
    return encoded.tobytes()


def look(upright: bytes, focal_35mm: float | None, wanted: str, opening: str) -> dict[str, Any]:
    """Find the card and propose landmarks, or find the opening's outline.

    Parameters
    ----------
    upright : bytes
        The upright copy, JPEG.
    focal_35mm : float or None
        For a 35 mm frame, mm.
    wanted, opening : str
        What is looked for, and the word for an opening.

    Returns
    -------
    dict
        What was found, as it is stored; `refusal` says what a person has to point out.

    Raises
    ------
    PhotoRefused
        Nothing to measure by was found.
    """
    return _found(_measurable(upright, focal_35mm), wanted, opening)


def _found(picture: UprightPicture, wanted: str, opening: str) -> dict[str, Any]:
    return _outline(picture) if wanted == opening else _reed(picture)


def _measurable(upright: bytes, focal_35mm: float | None) -> UprightPicture:
    kept = read_jpeg(upright)
    if kept.pixels is None or not kept.is_whole:
        raise PhotoRefused(DAMAGED)
    return to_measure(kept.pixels, focal_35mm)


def _reed(picture: UprightPicture) -> dict[str, Any]:
    found = find_card(picture)
    settings = Settings()
    view = solve_card(found, Frame(*picture.size), settings, settings.focal_of(picture))
    try:
        clicks, said = propose(picture, view), ""
    except PhotoRefused as refusal:  # the card is there, the reed has to be pointed out by a person
        clicks, said = Clicks({}), refusal.sentence
    laid = card_plane(view.solved, view.factor, clicks).to_json()
    return {"refusal": said, "laid": laid, **ReedFound(found, clicks).to_json()}


def _outline(picture: UprightPicture) -> dict[str, Any]:
    if is_mirrored(grey(picture)):
        raise PhotoRefused(MIRRORED)
    return {"refusal": "", "outline": find_outline(picture).to_json()}


def cut_out(
    upright: bytes,
    focal_35mm: float | None,
    numbers: list[float],
    points: Mapping[str, tuple[float, float]],
    heights: tuple[float, float],
) -> bytes:
    """Return a measured reed cut out flat at true scale, JPEG; the parameters are those of `flatten`.

    Raises
    ------
    PhotoRefused
        Where the plane cannot be seen from the camera.
    """
    camera: Floats = np.asarray(numbers, float)
    flat = flatten(_measurable(upright, focal_35mm), camera, points, heights)
    return jpeg(other_order(flat), FLAT_QUALITY)
