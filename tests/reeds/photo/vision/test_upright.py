"""Uploads become upright arrays, or are refused with a sentence."""

import io

import numpy as np
import pytest
from PIL import Image

from reeds.photo.vision import decode
from reeds.photo.vision.decode import read_picture
from reeds.photo.vision.refusal import PhotoRefused


def saved(image, kind="PNG", **how):
    out = io.BytesIO()
    image.save(out, kind, **how)
    return out.getvalue()


def test_a_file_that_is_no_picture_is_refused():
    with pytest.raises(PhotoRefused, match="cannot be read"):
        read_picture(b"no picture at all")


def test_a_picture_cut_short_is_refused():
    noise = np.random.default_rng(1).integers(0, 255, (300, 300, 3), dtype=np.uint8)
    data = saved(Image.fromarray(noise), "JPEG")
    with pytest.raises(PhotoRefused, match="cannot be read"):
        read_picture(data[: len(data) // 2])


def test_a_picture_of_over_60_megapixels_is_refused_before_it_is_decoded(monkeypatch):
    data = saved(Image.new("1", (8000, 7600)))
    assert len(data) < 100_000
    monkeypatch.setattr(Image.Image, "load", lambda self: pytest.fail("it was decoded"))
    with pytest.raises(PhotoRefused, match="60 megapixels"):
        read_picture(data)


def test_a_file_of_over_25_megabytes_is_refused_unread():
    with pytest.raises(PhotoRefused, match="25 MB"):
        read_picture(b"\0" * (decode.MAX_BYTES + 1))


def test_a_tiny_picture_is_refused():
    with pytest.raises(PhotoRefused, match="too small"):
        read_picture(saved(Image.new("RGB", (100, 300))))


def test_heic_from_a_phone_is_read():
    picture = read_picture(saved(Image.new("RGB", (640, 480), (200, 30, 30)), "HEIF"))
    assert picture.size == (640, 480)
    assert np.abs(picture.rgb[240, 320].astype(int) - (200, 30, 30)).max() < 12


@pytest.mark.parametrize(("stated", "found"), [(27, 27.0), (0, None), (None, None)])
def test_focal_length_is_what_the_file_says_or_unknown(stated, found):
    image = Image.new("RGB", (300, 300))
    exif = image.getexif()
    if stated is not None:
        exif.get_ifd(0x8769)[0xA405] = stated
    assert read_picture(saved(image, "JPEG", exif=exif)).focal_35mm == found
