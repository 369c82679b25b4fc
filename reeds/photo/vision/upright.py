"""The upright picture that everything is measured on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PIL import Image

from reeds.numbers.words import gettext_noop
from reeds.photo.vision.arrays import Pixels
from reeds.photo.vision.decode import decode
from reeds.photo.vision.refusal import PhotoRefused

MIN_SIDE_PX = 200  # own choice: below, the card's markers have no four pixels a cell
TOO_SMALL = gettext_noop("The picture is too small to measure: send the photo as the camera took it.")


@dataclass(frozen=True)
class UprightPicture:
    """An upright picture.

    Attributes
    ----------
    rgb : uint8 array, (height, width, 3)
        sRGB.
    focal_35mm : float or None
        Focal length as the file states it for a 35 mm frame, mm; None where the file is silent.
    """

    rgb: Pixels
    focal_35mm: float | None = None

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        return self.rgb.shape[1], self.rgb.shape[0]


def read_picture(data: bytes) -> UprightPicture:
    """Decode a photo that is to be measured.

    Parameters
    ----------
    data : bytes
        The file as it came; see `decode` for what is taken.

    Raises
    ------
    PhotoRefused
        As `decode.decode` and `to_measure`.
    """
    decoded = decode(data)
    return to_measure(decoded.image, decoded.focal_35mm)


def to_measure(image: Image.Image, focal_35mm: float | None) -> UprightPicture:
    """Return an upright image as an array.

    Raises
    ------
    PhotoRefused
        If it is under 200 px wide or high.
    """
    if min(image.size) < MIN_SIDE_PX:
        raise PhotoRefused(TOO_SMALL)
    return UprightPicture(np.asarray(image.convert("RGB"), dtype=np.uint8), focal_35mm)
