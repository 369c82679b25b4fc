"""The one way in which a photo is turned down: an error that carries a sentence saying what to do."""

from __future__ import annotations

from reeds.numbers.words import Refused, gettext_noop

AS_NO_CAMERA = gettext_noop("The picture is stored as no camera does it: send the photo as it was taken.")


class PhotoRefused(Refused):
    """A photo from which no honest figure can be had."""
