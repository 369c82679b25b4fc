"""The upright picture that everything is measured on."""

from __future__ import annotations

from dataclasses import dataclass

from reeds.photo.vision.arrays import Pixels


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
