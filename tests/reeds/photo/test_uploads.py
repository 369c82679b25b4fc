"""What people send as a photo: the true format counts, damage and bombs are told in a sentence."""

import io
import struct
import zlib

import numpy as np
import pillow_heif
import pytest
from django.core.files.base import ContentFile
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image, ImageCms

from reeds.photo.uploads import check_upload, prepared
from reeds.photo.vision.decode import MAX_BYTES, decode
from reeds.photo.vision.refusal import PhotoRefused
from studio.errors import NotPossible
from tests.factories import picture

pillow_heif.register_heif_opener()
FORMATS = [("JPEG", ".jpg"), ("PNG", ".png"), ("WEBP", ".webp"), ("HEIF", ".heic")]


def checked(data, name="reed.jpg"):
    return check_upload(ContentFile(data, name=name))


def refusal_of(act, *given):
    with pytest.raises(NotPossible) as refused:
        act(*given)
    return str(refused.value)


@pytest.mark.parametrize(("format", "extension"), FORMATS)
def test_each_format_is_taken_whatever_its_name_says(format, extension):
    data = picture(format=format)
    assert checked(data, "reed.exe") == extension
    assert checked(data, "reed.gif") == extension


@pytest.mark.parametrize("format", ["GIF", "BMP", "TIFF", "PPM", "ICO"])
def test_another_format_under_a_right_name_is_refused(format):
    assert "not a picture that can be read" in refusal_of(checked, picture(format=format), "reed.jpg")


@pytest.mark.parametrize(
    "data",
    [b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"%PDF-1.7", b"\xff\xd8\xff", b"\0" * 4096, b"PK\3\4"],
)
def test_what_is_no_picture_is_refused(data):
    assert "not a picture that can be read" in refusal_of(checked, data)


def boxes(first, *others):
    return struct.pack(">I", 16 + 4 * len(others)) + b"ftyp" + first + bytes(4) + b"".join(others) + bytes(64)


@pytest.mark.parametrize(
    ("data", "extension"),
    [
        (boxes(b"heic", b"mif1"), ".heic"),
        (boxes(b"mif1", b"mif1", b"heic"), ".heic"),
        (boxes(b"mif1", b"miaf", b"avif"), ".avif"),
        (boxes(b"avis", b"msf1"), ".avif"),
        (boxes(b"mif1"), ".heic"),
    ],
)
def test_files_of_boxes_are_told_apart_by_their_brands(data, extension):
    assert checked(data) == extension


@pytest.mark.parametrize(
    "data",
    [boxes(b"isom", b"mp42"), boxes(b"qt  "), b"RIFF\0\0\0\0WAVEfmt " + bytes(64), boxes(b"mp42", b"avif")],
)
def test_films_and_sounds_are_no_pictures(data):
    assert "not a picture that can be read" in refusal_of(checked, data)


def test_an_empty_file_is_refused():
    assert "empty" in refusal_of(checked, b"")


def test_a_file_over_25_mb_is_refused_and_one_of_25_mb_is_not():
    data = picture()
    assert "25 MB" in refusal_of(checked, data + b"\0" * (MAX_BYTES + 1 - len(data)))
    assert checked(data + b"\0" * (MAX_BYTES - len(data))) == ".jpg"


def png_that_says(width, height):
    """A tiny file whose header promises a huge picture."""

    def chunk(kind, body):
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(b""))
        + chunk(b"IEND", b"")
    )


def test_a_bomb_is_refused_by_its_header():
    """By the worker: the web opens nothing that somebody sent."""
    assert "60 megapixels" in refusal_of(prepared, png_that_says(60_000, 60_000))
    assert "60 megapixels" in refusal_of(prepared, png_that_says(8000, 7501))
    assert "damaged" in refusal_of(prepared, png_that_says(8000, 7500))


@pytest.mark.parametrize(("format", "extension"), FORMATS)
@pytest.mark.parametrize("share", [0.3, 0.6, 0.95])
def test_a_file_cut_short_is_told_in_a_sentence(format, extension, share):
    noise = Image.fromarray(np.random.default_rng(3).integers(0, 255, (300, 400, 3), dtype=np.uint8))
    buffer = io.BytesIO()
    noise.save(buffer, format)
    data = buffer.getvalue()
    assert "." in refusal_of(prepared, data[: int(len(data) * share)])


def made_or_said(data):
    """What kind of pixels the picture has, or how its refusal ends."""
    try:
        return decode(data).rgb.dtype.name, *decode(data).rgb.shape[2:]
    except PhotoRefused as refusal:
        return str(refusal)[-1]


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.sampled_from([name for name, _extension in FORMATS]), st.data())
def test_whatever_is_changed_in_a_file_ends_in_a_picture_or_a_sentence(format, data):
    raw = bytearray(picture(format=format))
    for _ in range(data.draw(st.integers(1, 6))):
        raw[data.draw(st.integers(0, len(raw) - 1))] = data.draw(st.integers(0, 255))
    assert made_or_said(bytes(raw)) in (("uint8", 3), ".")


@pytest.mark.parametrize("mode", ["L", "LA", "P", "RGBA", "1", "I;16", "CMYK"])
def test_every_kind_of_picture_becomes_plain_rgb(mode):
    format = "JPEG" if mode == "CMYK" else "PNG"
    buffer = io.BytesIO()
    if mode == "I;16":
        Image.fromarray(np.full((20, 30), 0x8080, dtype=np.uint16)).save(buffer, format)
    else:
        Image.new("RGB", (30, 20), "#808080").convert(mode, palette=Image.Palette.ADAPTIVE).save(
            buffer, format
        )
    made = decode(buffer.getvalue()).rgb
    assert (made.dtype, made.shape) == (np.uint8, (20, 30, 3))
    if mode != "1":
        assert np.abs(made.astype(int) - 128).max() <= 3


def test_what_is_see_through_lies_on_white():
    buffer = io.BytesIO()
    Image.new("RGBA", (20, 20), (0, 0, 0, 0)).save(buffer, "PNG")
    assert decode(buffer.getvalue()).rgb[5, 5].tolist() == [255, 255, 255]


def test_an_embedded_profile_is_turned_into_srgb():
    """Half the light is 188 in sRGB (IEC 61966-2-1, its transfer function)."""
    linear = linear_profile()
    for format in ("PNG", "JPEG"):
        buffer = io.BytesIO()
        Image.new("RGB", (20, 20), (128, 128, 128)).save(buffer, format, icc_profile=linear)
        assert np.abs(decode(buffer.getvalue()).rgb[5, 5].astype(int) - 188).max() <= 2


def linear_profile():
    """sRGB's own profile, its curves replaced by the straight line (ICC.1: a 'curv' without entries)."""
    data = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    count = struct.unpack(">I", data[128:132])[0]
    for place in range(132, 132 + 12 * count, 12):
        tag, offset, _size = struct.unpack(">4sII", data[place : place + 12])
        if tag in (b"rTRC", b"gTRC", b"bTRC"):
            data[offset : offset + 12] = b"curv" + bytes(4) + bytes(4)
    return bytes(data)


def test_a_broken_profile_leaves_the_colours_as_they_are():
    buffer = io.BytesIO()
    Image.new("RGB", (20, 20), (10, 200, 30)).save(buffer, "PNG", icc_profile=b"no profile at all")
    assert decode(buffer.getvalue()).rgb[5, 5].tolist() == [10, 200, 30]


@pytest.mark.parametrize("part", ["header", "sum of the pixels", "pixels", "end"])
def test_a_damaged_png_is_refused_and_not_shown_as_it_came(part):
    data = bytearray(picture(300, 200, format="PNG"))
    pixels = data.index(b"IDAT")
    size = struct.unpack_from(">I", data, pixels - 4)[0]
    places = {
        "header": 20,
        "sum of the pixels": pixels + 4 + size,
        "pixels": pixels + 4 + size // 2,
        "end": -1,
    }
    data[places[part]] ^= 1
    assert "damaged" in refusal_of(prepared, bytes(data))
