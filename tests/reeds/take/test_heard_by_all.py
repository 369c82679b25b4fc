"""Every sound is sent as something that every browser plays, be it recorded as Opus or as AAC."""

from __future__ import annotations

import io
import uuid
from pathlib import Path

import numpy as np
import pytest
from django.core.files.base import ContentFile
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone

from lessons.voice.models import Voice
from lessons.voice.tasks import prepare_voice
from reeds.sheet.playing_items import PlayingItem
from reeds.sweep import sweep
from reeds.take import actions, settled, tasks
from reeds.take.models import Take
from reeds.take.processing import OFF
from reeds.take.sound.decode import decode_take
from reeds.take.sound.encode import MP3_RATES_HZ, as_flac, as_mp3
from reeds.take.sound.signals import Waveform
from reeds.take.tasks import make_mp3
from tests import factories as make
from tests.phones_sound import CHROMIUM, SAFARI, recorded

pytestmark = pytest.mark.usefixtures("worker_at_once")

TUNING = PlayingItem("tuning", ("A4",))
WAV = "wav"
MP3 = b"\xff\xfb"  # the first frame of MPEG-1 layer III without a checksum; an ID3 header stands before it


@pytest.fixture
def reed(student):
    return make.ReedFactory(owner=student, stage="playing")


@pytest.fixture
def kept(reed, django_capture_on_commit_callbacks):
    """Return a function that keeps what a browser recorded and lets the worker listen."""

    def keep(kind, content_type):
        data = make.tone() if kind is WAV else recorded(kind)
        upload = SimpleUploadedFile("take", data, content_type)
        with django_capture_on_commit_callbacks(execute=True):
            take = actions.add_take(reed, reed.owner, upload, uuid.uuid4(), TUNING, OFF)
        take.refresh_from_db()
        return take

    return keep


def sounds(settings):
    return sorted(path.suffix for path in Path(settings.MEDIA_ROOT).rglob("*") if path.is_file())


def sent(client, address):
    answer = client.get(address)
    assert answer.status_code == 200
    return answer["Content-Type"], b"".join(answer.streaming_content)


def test_what_an_iphone_recorded_in_fragments_is_heard_and_plays_everywhere(kept, as_member, student):
    assert recorded(SAFARI).count(b"moof") > 1, "this is no file in fragments"
    take = kept(SAFARI, "audio/mp4")
    assert (take.state, take.content_type, take.raw) == ("ready", "audio/mp4", "")
    assert take.result["item"]["cents"] == pytest.approx(0, abs=2)
    kind, data = sent(as_member(student), student.to("reeds:take_sound", take.pk))
    assert (kind, MP3 in data[:64]) == ("audio/mpeg", True)
    with take.file.open("rb") as file:
        whole = decode_take(io.BytesIO(file.read()))
    played = decode_take(io.BytesIO(data))
    assert played.duration_s == pytest.approx(whole.duration_s, abs=0.1)
    n = min(len(played.samples), len(whole.samples))
    assert np.corrcoef(played.samples[:n], whole.samples[:n])[0, 1] > 0.99


def test_opus_gets_one_beside_it_and_what_plays_everywhere_does_not(kept, as_member, student, settings):
    opus, plain = kept(CHROMIUM, "audio/webm"), kept(WAV, "audio/wav")
    assert sounds(settings) == [".mp3", ".wav", ".webm"]
    client = as_member(student)
    assert sent(client, student.to("reeds:take_sound", opus.pk))[0] == "audio/mpeg"
    assert sent(client, student.to("reeds:take_sound", plain.pk))[0] == "audio/wav"


def test_both_go_when_it_is_taken_back_or_erased(kept, settings, django_capture_on_commit_callbacks):
    taken_back = kept(SAFARI, "audio/mp4")
    kept(SAFARI, "audio/mp4")
    with django_capture_on_commit_callbacks(execute=True):
        actions.withdraw(taken_back)
    assert sounds(settings) == [".m4a", ".mp3"]
    with django_capture_on_commit_callbacks(execute=True):
        actions.erase_takes(Take.objects.all(), timezone.now())
    assert sounds(settings) == []


def test_one_erased_while_it_is_listened_to_leaves_neither(reed, monkeypatch, settings):
    monkeypatch.setattr(actions, "listen", type("Idle", (), {"enqueue": lambda pk: None}))
    upload = SimpleUploadedFile("take", recorded(SAFARI), "audio/mp4")
    take = actions.add_take(reed, reed.owner, upload, uuid.uuid4(), TUNING, OFF)
    write = tasks.write_mp3

    def slow(*given):
        actions.erase_takes(Take.objects.all(), timezone.now())
        return write(*given)

    monkeypatch.setattr(tasks, "write_mp3", slow)
    tasks.listen.call(take.pk)
    assert sounds(settings) == []


def old_voice(teacher):
    """A note as it was kept before there were MP3s."""
    row = Voice(studio=teacher.studio, by=teacher, sound_state="waiting")
    row.sound_raw.save("voice.webm", ContentFile(recorded(CHROMIUM)))
    prepare_voice.call(row.pk)
    row.refresh_from_db()
    row.mp3.storage.delete(row.mp3.name)
    Voice.objects.filter(pk=row.pk).update(mp3="")
    return row


def test_what_was_kept_before_gets_one_by_the_daily_sweep(kept, as_member, teacher, settings):
    take, plain, voice = kept(SAFARI, "audio/mp4"), kept(WAV, "audio/wav"), old_voice(teacher)
    take.mp3.storage.delete(take.mp3.name)
    Take.objects.filter(pk=take.pk).update(mp3="")
    assert sounds(settings) == [".m4a", ".wav", ".webm"]
    sweep()
    assert sounds(settings) == [".m4a", ".mp3", ".mp3", ".wav", ".webm"]
    for row, address in ((take, "reeds:take_sound"), (voice, "lessons:voice_sound")):
        kind, data = sent(as_member(teacher), teacher.to(address, row.pk))
        assert (kind, MP3 in data[:64]) == ("audio/mpeg", True)
    for row in (take, plain):
        before = Take.objects.get(pk=row.pk).mp3.name
        make_mp3.call("reeds.Take", row.pk)  # twice is once
        assert Take.objects.get(pk=row.pk).mp3.name == before
    assert sweep() == 0
    assert len(sounds(settings)) == 5


def test_an_old_one_whose_file_is_gone_or_taken_back_meanwhile_leaves_nothing(kept, settings, monkeypatch):
    take = kept(SAFARI, "audio/mp4")
    take.mp3.storage.delete(take.mp3.name)
    Take.objects.filter(pk=take.pk).update(mp3="")
    make = settled.apart

    def slow(*given):
        done = make(*given)
        Take.objects.filter(pk=take.pk).update(taken_back_at=timezone.now(), file="")
        return done

    monkeypatch.setattr(settled, "apart", slow)
    make_mp3.call("reeds.Take", take.pk)
    assert sounds(settings) == [".m4a"]
    Take.objects.filter(pk=take.pk).update(taken_back_at=None, file="takes/nowhere.m4a")
    make_mp3.call("reeds.Take", take.pk)
    assert Take.objects.get(pk=take.pk).mp3.name == ""


def test_a_demonstration_from_an_iphone_plays_too(as_member, teacher, django_capture_on_commit_callbacks):
    desk = as_member(teacher)
    given = {"title": "Low notes", "words": "Softly.", "about": "", "key": uuid.uuid4()}
    given["sound"] = SimpleUploadedFile("low.m4a", recorded(SAFARI), "audio/x-m4a")
    with django_capture_on_commit_callbacks(execute=True):
        page = desk.post(teacher.to("lessons:demonstration_new"), given)["Location"]
    assert sent(desk, f"{page}sound")[0] == "audio/mpeg"


@pytest.mark.parametrize("rate_hz", [4_000, 12_000, 22_050, 44_100, 48_000])
def test_flac_loses_nothing_and_mp3_keeps_pitch_length_and_level(rate_hz):
    t = np.arange(int(1.5 * rate_hz)) / rate_hz
    sung = Waveform((0.3 * np.sin(2 * np.pi * 442.0 * t)).astype(np.float32), rate_hz)
    flac, mp3 = (decode_take(io.BytesIO(kind(sung))) for kind in (as_flac, as_mp3))
    assert np.abs(flac.samples - sung.samples).max() < 1e-4
    assert mp3.rate_hz in MP3_RATES_HZ
    assert mp3.duration_s == pytest.approx(1.5, abs=0.06)
    power = np.abs(np.fft.rfft(mp3.samples * np.hanning(len(mp3.samples))))
    assert np.argmax(power) * mp3.rate_hz / len(mp3.samples) == pytest.approx(442.0, abs=1.0)
    # within a decibel: LAME takes half of one away at some rates
    assert mp3.samples.std() == pytest.approx(sung.samples.std(), rel=0.12)
