"""Files that a phone, a browser or a mistake may send: a right answer or one clear sentence."""

import io
from dataclasses import replace

import numpy as np
import pytest
from scipy.io import wavfile

from reeds.take.sound.analysis import analyse
from reeds.take.sound.decode import UnreadableTakeError, decode_take
from tests.simulate_sound import Room, Sung, as_file, plain, record, wav


@pytest.fixture(scope="module")
def sung():
    return record([plain("A4")], 2.0, Room(rate=48000), np.random.default_rng(1))


def a_of(file):
    """Cents of the one note that a file should hold."""
    heard = analyse(decode_take(file))
    assert [note.name for note in heard.notes] == ["A4"]
    return heard.notes[0].cents.value


def stereo_wav(left, right, rate=48000):
    out = io.BytesIO()
    both = np.stack([left, right], axis=1)
    wavfile.write(out, rate, (np.clip(both, -1, 1) * 32767).astype(np.int16))
    out.seek(0)
    return out


@pytest.mark.parametrize(
    ("codec", "container"),
    [("aac", "mp4"), ("libopus", "webm"), ("libopus", "ogg"), ("libmp3lame", "mp3"), ("flac", "flac")],
)
def test_every_kind_of_file_gives_the_same_pitch(sung, codec, container):
    bits = 0 if codec == "flac" else 48000
    assert a_of(as_file(sung, codec, container, bits)) == pytest.approx(0, abs=0.1)


@pytest.mark.parametrize(("codec", "container"), [("aac", "mp4"), ("libopus", "webm"), ("libopus", "ogg")])
def test_what_an_encoder_puts_before_the_first_sample_shifts_no_note(sung, codec, container):
    start = analyse(decode_take(as_file(sung, codec, container, 48000))).notes[0].start_s
    assert start == pytest.approx(analyse(decode_take(wav(sung))).notes[0].start_s, abs=0.008)


@pytest.mark.parametrize("sample_format", ["s16", "u8", "s32"])
def test_8_16_and_24_bits_give_the_same_pitch(sung, sample_format):
    assert a_of(wav(sung, sample_format)) == pytest.approx(0, abs=0.1)


def test_a_constant_offset_does_no_harm(sung):
    assert a_of(wav(Sung(sung.samples + 0.3, sung.rate, []))) == pytest.approx(0, abs=0.1)


def test_a_silent_channel_does_not_halve_the_other(sung):
    take = decode_take(stereo_wav(sung.samples, 0 * sung.samples))
    assert take.samples.std() == pytest.approx(sung.samples.std(), rel=0.01)


def test_channels_in_opposite_phase_do_not_cancel(sung):
    take = decode_take(stereo_wav(sung.samples, -sung.samples))
    assert take.samples.std() == pytest.approx(sung.samples.std(), rel=0.01)


def test_a_take_cut_short_is_heard_as_far_as_it_goes(sung):
    whole = as_file(sung, "libopus", "ogg", 48000).getvalue()
    heard = analyse(decode_take(io.BytesIO(whole[: 2 * len(whole) // 3])))
    assert [note.name for note in heard.notes] == ["A4"]


def test_an_overloaded_take_says_so(sung):
    loud = decode_take(wav(Sung(4 * sung.samples, sung.rate, [])))
    assert loud.clipped
    assert any("overloaded" in warning for warning in analyse(loud).warnings)
    assert not decode_take(wav(sung)).clipped


def without_its_index(sung):
    """An m4a whose index, written last, is missing: the download broke off."""
    whole = as_file(sung, "aac", "mp4", 48000).getvalue()
    return whole[: len(whole) // 2]


@pytest.mark.parametrize(
    ("content", "word"),
    [
        (lambda sung: b"", "empty"),
        (lambda sung: b"these are only words, " * 50, "cannot be read"),
        (lambda sung: b"RIFF\x00\x00\x00\x00WAVEfmt ", "cannot be read"),
        (without_its_index, "cannot be read"),
        (lambda sung: wav(replace(sung, samples=sung.samples[:4800])).getvalue(), "too short"),
        (lambda sung: wav(Sung(np.zeros(8000 * 1200), 8000, [])).getvalue(), "longer than 3 minutes"),
    ],
)
def test_what_is_no_take_is_refused_in_one_sentence(sung, content, word):
    with pytest.raises(UnreadableTakeError, match=word) as refused:
        decode_take(io.BytesIO(content(sung)))
    assert str(refused.value).endswith(".")
    assert str(refused.value).count(".") == 1


def test_a_file_over_25_megabytes_is_refused():
    with pytest.raises(UnreadableTakeError, match="25 MB"):
        decode_take(io.BytesIO(bytes(25 * 1024 * 1024 + 1)))


@pytest.mark.parametrize("seconds", [0.25, 2.0])
def test_silence_and_noise_alone_hold_no_note(seconds):
    rng = np.random.default_rng(2)
    for level in (0.0, 0.05):
        noise = Sung(rng.normal(0, 1, int(16000 * seconds)) * level, 16000, [])
        heard = analyse(decode_take(wav(noise)))
        assert heard.notes == ()
        assert any("No note" in warning for warning in heard.warnings)


@pytest.mark.parametrize("item", ["low_notes", "staccato", "third_octave", "long_tone", "tuning", "crow"])
def test_no_item_stumbles_over_silence_or_a_crumb_of_sound(sung, item):
    for samples in (np.zeros(24000), sung.samples[24000:36000]):
        assert analyse(decode_take(wav(replace(sung, samples=samples))), item=item).item is not None


@pytest.mark.parametrize("hole", [np.nan, np.inf])
def test_samples_that_are_no_numbers_are_refused(sung, hole):
    samples = sung.samples.astype(np.float32)
    samples[5000:5100] = hole
    out = io.BytesIO()
    wavfile.write(out, sung.rate, samples)
    out.seek(0)
    with pytest.raises(UnreadableTakeError, match="no numbers"):
        decode_take(out)
