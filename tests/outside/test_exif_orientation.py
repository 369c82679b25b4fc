"""All eight orientations of Exif 2.32 (CIPA DC-008), tag 274, give the same upright picture.

The table of the standard says where row 0 and column 0 of the stored picture are seen; each stored picture is
made here from that table with array operations, not with the code under test.
"""

import io

import numpy as np
import pillow_heif
import pytest
from PIL import Image

from reeds.photo.vision.decode import decode

pillow_heif.register_heif_opener()

# what is seen, 6 wide and 4 high: no row, column or corner like another
SEEN = np.zeros((48, 72, 3), dtype=np.uint8)
SEEN[:24, :36] = (250, 20, 20)
SEEN[:24, 36:] = (20, 250, 20)
SEEN[24:, :36] = (20, 20, 250)
SEEN[24:, 36:] = (240, 240, 240)

# tag 274: (side at which the stored row 0 is seen, side at which the stored column 0 is seen)
TABLE = {
    1: ("top", "left"),
    2: ("top", "right"),
    3: ("bottom", "right"),
    4: ("bottom", "left"),
    5: ("left", "top"),
    6: ("right", "top"),
    7: ("right", "bottom"),
    8: ("left", "bottom"),
}


def stored(orientation):
    """Return the rows as the camera stores them, so that row 0 and column 0 are where the table says."""
    row_side, column_side = TABLE[orientation]
    picture = SEEN
    if row_side in ("left", "right"):
        picture = picture.transpose(1, 0, 2)
    if row_side in ("bottom", "right"):
        picture = picture[::-1]
    if column_side in ("right", "bottom"):
        picture = picture[:, ::-1]
    return Image.fromarray(np.ascontiguousarray(picture))


def written(orientation, format):
    exif = Image.Exif()
    exif[274] = orientation
    buffer = io.BytesIO()
    options = {"JPEG": {"quality": 95, "subsampling": 0}, "WEBP": {"lossless": True}, "PNG": {}}[format]
    stored(orientation).save(buffer, format, exif=exif.tobytes(), **options)
    return buffer.getvalue()


@pytest.mark.parametrize("format", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("orientation", TABLE)
def test_every_orientation_gives_the_same_upright_picture(orientation, format):
    upright = decode(written(orientation, format))
    assert upright.orientation == orientation
    assert upright.stored_size == stored(orientation).size
    assert upright.rgb.shape == (48, 72, 3)
    assert np.abs(upright.rgb.astype(int) - SEEN).mean() < 4


@pytest.mark.parametrize("orientation", [1, 3, 6, 8])
def test_a_turned_heic_gives_the_same_upright_picture(orientation):
    exif = Image.Exif()
    exif[274] = orientation
    buffer = io.BytesIO()
    stored(orientation).save(buffer, "HEIF", quality=95, exif=exif.tobytes())
    upright = decode(buffer.getvalue())
    assert upright.orientation == orientation
    assert upright.rgb.shape == (48, 72, 3)
    assert np.abs(upright.rgb.astype(int) - SEEN).mean() < 12


@pytest.mark.parametrize("orientation", [0, 9, 65535])
def test_an_orientation_the_standard_does_not_know_is_taken_as_upright(orientation):
    exif = Image.Exif()
    exif[274] = orientation
    buffer = io.BytesIO()
    Image.fromarray(SEEN).save(buffer, "JPEG", exif=exif.tobytes())
    upright = decode(buffer.getvalue())
    assert (upright.orientation, upright.rgb.shape) == (1, (48, 72, 3))
