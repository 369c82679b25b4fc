"""What people send, checked before it is kept and decoded by the worker, refused in the pages' own words."""

from __future__ import annotations

import contextlib
import datetime as dt
from collections.abc import Iterator
from typing import Any

from django.core.files import File
from django.utils.translation import gettext as _

from reeds.apart import apart, in_parts
from reeds.numbers.words import Refused, gettext_noop
from reeds.photo.vision.kind import HEAD_BYTES, extension_of
from reeds.photo.vision.taken import MAX_BYTES, NO_PICTURE, TOO_MANY_BYTES, TOO_MANY_PIXELS
from studio.errors import NotPossible

# what the decoder says, to somebody who has just sent a photo from a phone
TO_SENDER = {
    TOO_MANY_BYTES: gettext_noop("This file is larger than 25 MB. Send a smaller photo."),
    TOO_MANY_PIXELS: gettext_noop("This picture has more than 60 megapixels. Send a smaller photo."),
    NO_PICTURE: gettext_noop("This is not a picture that can be read: send a JPEG, PNG, WebP or HEIC photo."),
}


def check_upload(upload: File[bytes]) -> str:
    """Return the extension of the picture's true kind, or say in one sentence why it is not taken.

    Its first bytes are compared and nothing of it is opened: that is the worker's.
    """
    if not upload.size:
        raise NotPossible(_("This file is empty. Take the photo again."))
    if upload.size > MAX_BYTES:
        raise NotPossible(_(TO_SENDER[TOO_MANY_BYTES]))
    upload.seek(0)
    extension = extension_of(upload.read(HEAD_BYTES))
    upload.seek(0)
    if not extension:
        raise NotPossible(_(TO_SENDER[NO_PICTURE]))
    return extension


def prepared(data: bytes, zone: dt.tzinfo = dt.UTC) -> dict[str, Any]:
    """Have an upload decoded and copied, see `vision.jobs.prepare`; NotPossible with a sentence if not.

    `zone` is where the camera is taken to have been if the file names no offset.
    """
    with _said_to_sender():
        made: dict[str, Any] = apart("reeds.photo.vision.jobs:prepare", data, zone)
        return made


def prepared_to_look(
    data: bytes, zone: dt.tzinfo, wanted: str, opening: str
) -> tuple[dict[str, Any], Iterator[dict[str, Any]]]:
    """Return what `prepared` does, and what will come of looking at the picture that was decoded for it.

    See `vision.jobs.prepare_and_look`; to take from the second raises Refused.
    """
    parts = in_parts("reeds.photo.vision.jobs:prepare_and_look", data, zone, wanted, opening)
    with _said_to_sender():
        return next(parts), parts


@contextlib.contextmanager
def _said_to_sender() -> Iterator[None]:
    try:
        yield
    except Refused as refusal:
        raise NotPossible(_(TO_SENDER.get(refusal.sentence, refusal.sentence))) from None
