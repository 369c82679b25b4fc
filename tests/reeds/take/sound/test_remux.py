"""The copy that is served holds the sound alone: no place, time, name or picture of whoever recorded it."""

import io

import av
import numpy as np
import pytest
from PIL import Image

from reeds.take.sound.decode import decode_take
from reeds.take.sound.kinds import CONTENT_TYPES
from reeds.take.sound.remux import plain_copy
from tests.simulate_sound import Room, plain, record

TOLD = {
    "title": "Aunt Mathilde's kitchen",
    "comment": "recorded with a phone named Quibble",
    "creation_time": "2031-02-03T04:05:06Z",
    "date": "2031-02-03",
    "location": "+46.1234+007.5678/",
}
GIVEAWAYS = [b"Mathilde", b"Quibble", b"2031-02-03", b"46.1234"]


@pytest.fixture(scope="module")
def sung():
    return record([plain("A4")], 2.0, Room(rate=48000), np.random.default_rng(1))


def told_file(sung, codec, container, told=TOLD):
    """A recording as a phone writes it: with what it knows about place, time and owner."""
    out = io.BytesIO()
    options = {"movflags": "use_metadata_tags"} if container in ("mp4", "ipod") else {}
    with av.open(out, "w", format=container, options=options) as file:
        file.metadata.update(told)
        stream = file.add_stream(codec, rate=sung.rate, layout="mono")
        stream.metadata.update({"title": told["title"], "handler_name": told["comment"]} if told else {})
        frame = av.AudioFrame.from_ndarray(
            sung.samples[np.newaxis].astype(np.float32), format="fltp", layout="mono"
        )
        frame.sample_rate = sung.rate
        fifo = av.AudioFifo()
        for piece in av.AudioResampler(stream.format, "mono", sung.rate).resample(frame):
            fifo.write(piece)
        while piece := fifo.read(stream.codec_context.frame_size or 1024):
            file.mux(stream.encode(piece))
        file.mux(stream.encode(None))
    return out.getvalue()


KINDS = [
    ("aac", "mp4"),
    ("libopus", "webm"),
    ("libopus", "ogg"),
    ("libmp3lame", "mp3"),
    ("flac", "flac"),
    ("pcm_s16le", "wav"),
    ("pcm_f32le", "wav"),
]


@pytest.mark.parametrize(("codec", "container"), KINDS)
def test_the_copy_keeps_the_sound_and_drops_what_the_phone_told(sung, codec, container):
    file = told_file(sung, codec, container)
    assert any(giveaway in file for giveaway in GIVEAWAYS), "the file to be cleaned tells nothing"
    before = decode_take(io.BytesIO(file))
    copy = plain_copy(io.BytesIO(file), before)
    assert not [giveaway for giveaway in GIVEAWAYS if giveaway in copy.data]
    with av.open(io.BytesIO(copy.data)) as opened:
        assert len(opened.streams) == 1
        said = {**opened.metadata, **opened.streams[0].metadata}
    assert not set(said) & {"title", "comment", "creation_time", "date", "location"}
    assert copy.content_type in CONTENT_TYPES
    after = decode_take(io.BytesIO(copy.data))
    assert after.duration_s == pytest.approx(before.duration_s, abs=0.05)
    both = min(len(before.samples), len(after.samples))
    assert np.corrcoef(before.samples[:both], after.samples[:both])[0, 1] > 0.999


def test_a_picture_within_the_recording_does_not_come_along(sung):
    cover = io.BytesIO()
    Image.new("RGB", (32, 32), "red").save(cover, "PNG")
    picture = cover.getvalue()
    tag = b"\x00image/png\x00\x03\x00" + picture
    frame = b"APIC" + len(tag).to_bytes(4, "big") + b"\x00\x00" + tag
    size = bytes((len(frame) >> shift) & 0x7F for shift in (21, 14, 7, 0))
    file = b"ID3\x03\x00\x00" + size + frame + told_file(sung, "libmp3lame", "mp3", {})
    with av.open(io.BytesIO(file)) as opened:
        assert len(opened.streams) == 2
    copy = plain_copy(io.BytesIO(file), decode_take(io.BytesIO(file)))
    assert picture not in copy.data
    with av.open(io.BytesIO(copy.data)) as opened:
        assert [stream.type for stream in opened.streams] == ["audio"]
