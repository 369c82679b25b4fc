"""Which band a recording carries: decided by its noise, never by how dark a note is."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import signal

from reeds.take.sound.analysis import analyse
from reeds.take.sound.band import carried_hz, is_telephone
from reeds.take.sound.quality import NARROW
from reeds.take.sound.signals import Waveform
from tests.simulate_sound import Room, plain, record

TELEPHONE = Room(band=(300, 3400))


def take(room, *blows, seconds=3.0, seed=1):
    sung = record(list(blows) or [plain("D4", length=1.5)], seconds, room, np.random.default_rng(seed))
    return Waveform(sung.samples - sung.samples.mean(), sung.rate)


def dark(rate, noise_db, corner_hz, seed):
    """A tone of which nothing is left over `corner_hz`, over white noise of the whole band."""
    rng, t = np.random.default_rng(seed), np.arange(2 * rate) / rate
    tone = sum(np.sin(2 * np.pi * 262 * k * t) / k for k in range(1, 12)) * (t > 0.6)
    low = signal.sosfiltfilt(signal.butter(6, corner_hz, fs=rate, output="sos"), tone)
    noise = 10 ** (noise_db / 20) * rng.normal(size=len(t))
    return Waveform(np.round((0.2 * low + noise) * 32767) / 32767, rate)


@settings(max_examples=60, deadline=None)
@given(
    rate=st.sampled_from([16000, 22050, 44100, 48000]),
    noise_db=st.floats(-90, -35),
    corner_hz=st.floats(500, 6000),
    seed=st.integers(0, 1000),
)
def test_a_dark_note_of_a_whole_band_is_no_telephone(rate, noise_db, corner_hz, seed):
    assert not is_telephone(dark(rate, noise_db, corner_hz, seed))


@pytest.mark.parametrize("rate", [16000, 44100, 48000])
def test_a_telephones_band_is_found_at_any_rate(rate):
    assert is_telephone(take(Room(rate=rate, band=(300, 3400))))


def test_a_file_that_can_hold_no_more_is_a_telephones():
    assert is_telephone(Waveform(np.random.default_rng(1).normal(size=20000), 8000))


def test_silence_and_a_moment_decide_nothing():
    assert not is_telephone(Waveform(np.zeros(48000), 48000))
    assert not is_telephone(Waveform(np.ones(100), 48000))
    assert carried_hz(Waveform(np.ones(100), 48000)) == (0.0, 24000.0)


@pytest.mark.parametrize(
    ("item", "said"),
    [
        ("low_notes", True),
        ("long_tone", True),
        ("crow", True),
        (None, True),
        ("staccato", False),
        ("tuning", False),
    ],
)
def test_it_is_said_only_where_something_told_depends_on_it(item, said):
    told = analyse(take(TELEPHONE, plain("A4", length=1.5)), item=item)
    assert (NARROW in told.warnings) is said
