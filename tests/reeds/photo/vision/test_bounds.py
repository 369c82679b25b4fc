"""Pictures beyond what a camera makes are refused with a sentence before they cost anything."""

import io

import pytest
from PIL import Image

from reeds.photo.vision import jobs
from reeds.photo.vision.decode import AS_NO_CAMERA, MAX_SIDE_PX, MOST_CHUNKS, PhotoCutShort, decode
from reeds.photo.vision.refusal import PhotoRefused
from tests.torture.hostile.boxes import chunk
from tests.torture.hostile.whole import PICTURES, saved


def of_side(side):
    return saved(Image.new("L", (side, 1), 90), "PNG")


def of_chunks(count):
    whole = PICTURES["png"]()
    return whole[:33] + chunk(b"tEXt", b"a\0") * count + whole[33:]


def test_a_line_as_long_as_a_copy_may_be_is_kept():
    copies = jobs.prepare(of_side(MAX_SIDE_PX))["copies"]
    with Image.open(io.BytesIO(copies["upright"])) as upright:
        assert upright.size == (MAX_SIDE_PX, 1)


def test_a_longer_line_is_refused_before_its_copies_fail():
    with pytest.raises(PhotoRefused) as refused:
        jobs.prepare(of_side(MAX_SIDE_PX + 1))
    assert refused.value.sentence == AS_NO_CAMERA


def test_a_png_of_as_many_chunks_as_encoders_write_is_read():
    assert decode(of_chunks(3000)).format == "PNG"


def test_a_png_of_chunks_without_end_is_refused():
    with pytest.raises(PhotoRefused) as refused:
        decode(of_chunks(MOST_CHUNKS))
    assert refused.value.sentence == AS_NO_CAMERA


def test_an_avif_whose_pixels_are_damaged_is_called_damaged():
    whole = bytearray(PICTURES["avif"]())
    start = whole.index(b"mdat") + 4
    whole[start : start + 400] = bytes(400)
    with pytest.raises(PhotoCutShort):
        decode(bytes(whole))
