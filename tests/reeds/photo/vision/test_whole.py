"""A JPEG of which a part makes no sense is refused as a PNG is; what cameras do on purpose is read."""

import contextlib
import io
import os
import subprocess
import threading
import time
from functools import cache

import cv2
import numpy as np
import pytest
from PIL import Image
from PIL.ImageFilter import GaussianBlur

from reeds.photo.vision import jobs
from reeds.photo.vision.decode import PhotoCutShort, decode
from reeds.photo.vision.refusal import PhotoRefused
from reeds.photo.vision.whole import FILLING_BYTES, read_jpeg
from tests.torture.hostile.whole import PICTURES, saved, scene

KINDS = {
    "plain": {},
    "progressive": {"progressive": True},
    "in pieces": {"restart_marker_rows": 1},
    "grey": {"mode": "L"},
    "of a printer": {"mode": "CMYK"},
}
SCAN, END = b"\xff\xda", b"\xff\xd9"
COMMENT = b"\xff\xfe\0\4of"


@cache
def jpeg(mode="RGB", **options):
    """Smooth, as what lies on a table: in mere grain a damage ends within its own block."""
    return saved(scene(400, 300).filter(GaussianBlur(2)).convert(mode), "JPEG", quality=88, **options)


def lacking(data, start=0.5, count=40):
    """Some bytes of the middle are gone, as where a card broke; the end is there."""
    place = data.index(SCAN) + int(start * (len(data) - data.index(SCAN)))
    return data[:place] + data[place + count :]


def filled(count):
    return jpeg()[: -len(END)] + bytes(count) + END


@pytest.mark.parametrize("kind", KINDS)
def test_a_whole_one_is_read_and_one_that_lacks_a_part_is_called_damaged(kind):
    data = jpeg(**KINDS[kind])
    assert decode(data).rgb.shape == (300, 400, 3)
    with pytest.raises(PhotoCutShort):
        decode(lacking(data))


def test_it_is_said_in_the_words_of_a_file_that_was_cut():
    with pytest.raises(PhotoRefused) as refused:
        jobs.prepare(lacking(jpeg()))
    assert refused.value.sentence == jobs.DAMAGED


def test_most_bytes_that_change_the_picture_are_found():
    """The others leave a shade that is wrong, which nobody can tell from a photo's own."""
    data, rng, told = jpeg(), np.random.default_rng(1), {True: 0, False: 0}
    whole = decode(data).rgb.astype(int)
    for place in rng.integers(data.index(SCAN) + 20, len(data) - 2, 60):
        broken = data[:place] + bytes([data[place] ^ 0x5A]) + data[place + 1 :]
        with contextlib.suppress(OSError), Image.open(io.BytesIO(broken)) as shown:  # some Pillow refuses
            changed = np.abs(np.asarray(shown, int) - whole).max(axis=2) > 16
            if changed.mean() > 0.05:
                told[read_jpeg(broken).is_whole] += 1
    assert told[False] >= 20
    assert told[True] <= told[False] / 2


def test_what_cameras_add_is_no_damage():
    data = jpeg()
    assert decode(data + b"a maker's own trailer" * 99).format == "JPEG"
    assert decode(data[:2] + COMMENT + data[2:]).format == "JPEG"
    several = saved(scene(300, 300), "MPO", save_all=True, append_images=[Image.new("RGB", (90, 90))])
    assert decode(several).rgb.shape == (300, 300, 3)


@pytest.mark.parametrize(("said", "whole"), [(1, True), (FILLING_BYTES, True), (FILLING_BYTES + 1, False)])
def test_a_scan_may_be_filled_up_with_a_few_bytes_and_no_more(monkeypatch, said, whole):
    line = f"Corrupt JPEG data: {said} extraneous bytes before marker 0xd9\n".encode()
    monkeypatch.setattr("reeds.photo.vision.whole._decoded", lambda *_: (None, b"something else\n" + line))
    assert read_jpeg(b"").is_whole is whole


def test_how_much_is_filled_up_is_heard_of_the_decoder():
    assert read_jpeg(filled(FILLING_BYTES // 2)).is_whole
    assert not read_jpeg(filled(3 * FILLING_BYTES)).is_whole


def test_who_asks_keeps_what_they_print(capfd):
    read_jpeg(lacking(jpeg()))
    os.write(2, b"still here")
    assert capfd.readouterr().err == "still here"


def test_several_at_once_wait_for_nobody_and_hear_but_their_own(capfd):
    pictures = [(jpeg(), True), (lacking(jpeg()), False)] * 2
    wrong = []

    def read(data, is_whole):
        wrong.extend(each for each in range(30) if read_jpeg(data).is_whole != is_whole)

    readers = [threading.Thread(target=read, args=one, daemon=True) for one in pictures]
    for one in readers:
        one.start()
    for one in readers:
        one.join(60)
    assert [one.is_alive() for one in readers] == [False] * 4
    assert wrong == []
    os.write(2, b"still here")
    assert capfd.readouterr().err == "still here"


def test_a_process_started_meanwhile_holds_nobody_up(monkeypatch):
    started = []
    monkeypatch.setattr(cv2, "imdecode", lambda *_given: started.append(subprocess.Popen(["sleep", "20"])))  # noqa: S607
    began = time.monotonic()
    read_jpeg(jpeg())
    started[0].kill()
    started[0].wait()
    assert time.monotonic() - began < 10


def test_what_is_no_jpeg_inside_is_not_ours_to_refuse():
    assert read_jpeg(b"\xff\xd8\xff" + bytes(40)).is_whole


def test_the_pictures_of_all_other_tests_are_whole():
    assert read_jpeg(PICTURES["jpeg"]()).is_whole
    assert read_jpeg(PICTURES["progressive"]()).is_whole


def test_a_kept_copy_that_broke_since_is_not_measured_on():
    for broken in (lacking(jpeg()), jpeg()[: len(jpeg()) // 2]):
        with pytest.raises(PhotoRefused) as refused:
            jobs.look(broken, None, "reed", "opening")
        assert refused.value.sentence == jobs.DAMAGED
