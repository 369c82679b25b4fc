"""Files that break what reads them, through the real child: a sentence, and the next one is read."""

import datetime as dt
import io
import os
import socket
import struct

import numpy as np
import pytest
from django.core.files.base import ContentFile
from PIL import Image

from reeds.apart import BROKE, apart, in_parts
from reeds.numbers.words import Refused
from reeds.photo.models.photo import Photo, PhotoState
from reeds.photo.tasks.prepare import prepare_photo
from reeds.photo.vision.decode import AS_NO_CAMERA, MOST_SCANS
from reeds.take.models import Take, TakeState
from reeds.take.sound.decode import NO_RECORDING, NOT_A_PHONES, TOO_LONG
from reeds.take.tasks import listen
from studio.confined import pool
from tests import factories as make
from tests.torture.hostile.bombs_of_pictures import of_scans
from tests.torture.hostile.whole import RECORDINGS, encoded, wav

HEAR = "reeds.take.sound.jobs:hear"


@pytest.fixture(scope="module")
def own_pool():
    made = pool.Pool(["reeds.photo.vision.jobs", "reeds.take.sound.jobs"])
    yield made
    made.end()


@pytest.fixture(autouse=True)
def real_children(settings, monkeypatch, own_pool):
    settings.CONFINE = True
    monkeypatch.setattr(pool, "pool", lambda: own_pool)


def heard(data):
    return apart(HEAR, data, 442.0, "tuning", ["A4"])


def refusal_of(data):
    with pytest.raises(Refused) as refused:
        heard(data)
    return refused.value.sentence


def said_of(data):
    try:
        heard(data)
    except Refused as refusal:
        return refusal.sentence
    return "heard"


@pytest.mark.parametrize("kind", RECORDINGS)
def test_what_phones_and_browsers_make_is_read(kind):
    found = heard(RECORDINGS[kind]())
    assert found["copy"]["data"]
    assert found["result"]["notes"]


@pytest.mark.parametrize("channels", [8, 9, 12, 16, 17, 32, 64])
def test_a_file_of_many_channels_is_refused_and_ends_nobody(channels):
    assert refusal_of(wav(channels, 0.3)) == NOT_A_PHONES


@pytest.mark.parametrize("channels", [2, 3, 6, 7])
def test_several_microphones_are_folded(channels):
    assert heard(wav(channels))["result"]["notes"]


def test_silence_that_would_swell_is_refused_by_its_header():
    """52 KB of FLAC at 655,350 Hz once took 4.1 GB."""
    data = encoded("flac", "flac", rate=655_350, seconds=3.0, loud=0)
    assert len(data) < 52_000
    assert refusal_of(data) == NOT_A_PHONES


def test_high_rates_are_brought_down_while_they_are_read():
    found = heard(wav(rate=192_000))
    assert found["result"]["notes"]
    assert found["copy"]["suffix"] == ".wav"


def test_three_minutes_are_the_most_whatever_the_header_says():
    data = bytearray(wav(rate=8000, seconds=200.0))
    struct.pack_into("<I", data, 40, 8000)  # the data chunk says half a second
    assert refusal_of(bytes(wav(rate=8000, seconds=200.0))) == TOO_LONG
    assert heard(bytes(data))["result"]["duration_s"] < 1.0


def test_a_session_description_opens_no_port():
    with socket.socket(type=socket.SOCK_DGRAM) as asked:
        asked.bind(("127.0.0.1", 0))
        port = asked.getsockname()[1]
    sdp = f"v=0\no=- 0 0 IN IP4 127.0.0.1\ns=x\nc=IN IP4 127.0.0.1\nt=0 0\nm=audio {port} RTP/AVP 0\n"
    assert refusal_of(sdp.encode()) == NO_RECORDING


@pytest.mark.parametrize(
    "text",
    [
        "ffconcat version 1.0\nfile '{path}'\n",
        "#EXTM3U\n#EXT-X-TARGETDURATION:5\n#EXTINF:5,\n{path}\n#EXT-X-ENDLIST\n",
        "<?xml version='1.0'?><MPD xmlns='urn:mpeg:dash:schema:mpd:2011'><BaseURL>{path}</BaseURL></MPD>",
    ],
)
def test_a_list_of_files_opens_none_of_them(text, tmp_path):
    path = tmp_path / "of-somebody-else.wav"
    path.write_bytes(wav())
    assert refusal_of(text.format(path=path).encode()) == NO_RECORDING


def test_sniffed_containers_open_nothing_by_name(monkeypatch, tmp_path):
    """Without the child around it: an audit hook sees no file and no socket while a recording is read."""
    from reeds.take.sound import decode

    seen, watching = [], [True]

    def watch(event, args):
        if watching[0] and event in ("open", "socket.connect", "socket.bind", "os.exec"):
            seen.append((event, args[0] if args else None))

    import sys

    decode.decode_take(io.BytesIO(RECORDINGS["webm"]()))  # what is imported lazily is imported now
    recordings = {kind: made() for kind, made in RECORDINGS.items()}
    sys.addaudithook(watch)
    try:
        for data in recordings.values():
            decode.decode_take(io.BytesIO(data))
    finally:
        watching[0] = False
    assert seen == []


@pytest.mark.parametrize("kind", RECORDINGS)
def test_damaged_recordings_are_read_or_refused_with_a_sentence(kind):
    """Forty of each kind with three bytes changed and forty cut off; `make torture` is for more."""
    rng, whole = np.random.default_rng(len(kind)), RECORDINGS[kind]()
    for turn in range(80):
        data = bytearray(whole)
        if turn % 2:
            data = data[: int(rng.integers(1, len(data)))]
        for place in rng.integers(0, min(len(data), 4000), 3):
            data[place] = int(rng.integers(256))
        assert said_of(bytes(data)).endswith((".", "heard"))
    assert heard(whole)["result"]["notes"]


@pytest.fixture
def reed(student):
    return make.ReedFactory(owner=student)


def test_a_take_that_ends_its_reader_is_refused_and_its_upload_goes(reed, student, monkeypatch):
    monkeypatch.setattr("reeds.take.tasks.HEAR", "ctypes:string_at")
    take = Take(studio=student.studio, reed=reed, by=student, item="tuning", notes=["A4"])
    take.raw.save("a.wav", ContentFile(wav()))
    path = take.raw.path
    listen.func(take.pk)
    take.refresh_from_db()
    assert (take.state, take.refusal) == (TakeState.REFUSED, BROKE)
    assert not take.raw
    assert not os.path.exists(path)


def test_a_jpeg_of_thousands_of_scans_is_refused_at_once(reed, student):
    photo = Photo(studio=student.studio, reed=reed, by=student)
    photo.raw.save("a.jpg", ContentFile(of_scans(2000)))
    prepare_photo.func(photo.pk)
    photo.refresh_from_db()
    assert photo.state == PhotoState.REFUSED
    assert photo.refusal == AS_NO_CAMERA


def test_a_jpeg_of_as_many_scans_as_encoders_write_is_read():
    assert of_scans(0).count(b"\xff\xda") < MOST_SCANS / 4
    assert apart("reeds.photo.vision.jobs:prepare", of_scans(0))["copies"]["screen"]


def test_sixty_megapixels_fit_into_the_memory_of_a_child():
    out = io.BytesIO()
    Image.new("RGB", (9000, 6600), (120, 100, 80)).save(out, "JPEG")
    made = apart("reeds.photo.vision.jobs:prepare", out.getvalue())
    assert (made["width"], made["height"]) == (9000, 6600)
    with pytest.raises(Refused) as refused:
        apart("reeds.photo.vision.jobs:look", made["copies"]["upright"], None, "reed", "opening")
    assert refused.value.sentence != BROKE
    both = in_parts("reeds.photo.vision.jobs:prepare_and_look", out.getvalue(), dt.UTC, "reed", "opening")
    assert next(both)["copies"].keys() == made["copies"].keys()
    with pytest.raises(Refused) as refused:
        next(both)
    assert refused.value.sentence != BROKE
