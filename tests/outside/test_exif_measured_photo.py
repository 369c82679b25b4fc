"""Exif 2.32 (CIPA DC-008), tag 274: all eight orientations of one scene give the same upright picture.

The stored picture is made from the standard's own words (which side of the scene the 0th row and the 0th
column of the file show), not by turning it back with the library under test.
"""

import io

import numpy as np
import pytest
from PIL import Image

from reeds.photo.vision.decode import read_picture

# orientation: (0th row is the scene's ..., 0th column is the scene's ...)
ROWS_AND_COLUMNS = {
    1: ("top", "left"),
    2: ("top", "right"),
    3: ("bottom", "right"),
    4: ("bottom", "left"),
    5: ("left", "top"),
    6: ("right", "top"),
    7: ("right", "bottom"),
    8: ("left", "bottom"),
}


def stored(scene, row, column):
    """The array in the file whose 0th row and column show these sides of the scene."""
    if row in ("left", "right"):
        scene = scene.transpose(1, 0, 2)
    if row in ("bottom", "right"):
        scene = scene[::-1]
    if column in ("bottom", "right"):
        scene = scene[:, ::-1]
    return np.ascontiguousarray(scene)


@pytest.mark.parametrize("orientation", ROWS_AND_COLUMNS)
@pytest.mark.parametrize("kind", ["PNG", "JPEG", "HEIF"])
def test_every_orientation_comes_out_upright(orientation, kind):
    scene = np.zeros((240, 320, 3), np.uint8)
    scene[:80, :80] = (250, 30, 30)
    scene[-80:, -160:] = (30, 30, 250)
    image = Image.fromarray(stored(scene, *ROWS_AND_COLUMNS[orientation]))
    exif = image.getexif()
    exif[274] = orientation
    out = io.BytesIO()
    image.save(out, kind, exif=exif, **({} if kind == "PNG" else {"quality": 95}))
    rgb = read_picture(out.getvalue()).rgb.astype(int)
    assert rgb.shape == scene.shape
    assert np.abs(rgb[20:60, 20:60] - scene[20:60, 20:60]).max() < 25
    assert np.abs(rgb[-60:-20, -140:-20] - scene[-60:-20, -140:-20]).max() < 25
