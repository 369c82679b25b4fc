"""What moves for itself over a voice: sounds made here, of which nothing is the crow's own model."""

import numpy as np
import pytest

from reeds.take.sound.coupled import octaves_of

RATE, SECONDS = 16000, 2.0
T = np.arange(int(RATE * SECONDS)) / RATE


def voice(hz, cents=0.0, sway_hz=1.3, late=0.0, lines=8, weak=1.0):
    """A tone whose pitch sways by so many cents; `weak` takes its odd lines down."""
    phase = 2 * np.pi * hz * T - cents / 1200 * np.log(2) * hz / sway_hz * np.cos(
        2 * np.pi * sway_hz * T + late
    )
    return sum((weak if k % 2 else 1.0) / k * np.cos(k * phase + k * k) for k in range(1, lines + 1))


def noise(level=0.003):
    return np.random.default_rng(3).normal(0, level, len(T))


def over(*voices, parts=1, hz=262.0):
    return octaves_of(np.array_split(sum(voices) + noise(), parts), RATE, hz)


@pytest.mark.parametrize("cents", [0.0, 4.0, 15.0])
@pytest.mark.parametrize("weak", [1.0, 0.2])
def test_nothing_moves_for_itself_over_one_voice_however_it_sways(cents, weak):
    found = over(voice(262.0, cents, weak=weak))
    assert max(found.one.share, found.two.share, found.strays) < 0.02


@pytest.mark.parametrize("off", [-30.0, -1.0, 0.0, 2.0, 30.0])
def test_an_octave_that_sways_in_its_own_time_does_even_where_it_is_an_octave_to_a_hair(off):
    octave = 524.0 * 2 ** (off / 1200)
    found = over(voice(262.0, 3.0), 0.7 * voice(octave, 5.0, sway_hz=0.8, late=1.0))
    assert found.one.share > 0.1 > 5 * found.strays
    assert 1200 * np.log2(found.one.hz / octave) == pytest.approx(0, abs=6)
    assert found.two.share < 0.1  # its own second line is none


@pytest.mark.parametrize("off", [-25.0, 1.0, 20.0])
def test_the_double_octave_does_beside_both(off):
    highest = 1048.0 * 2 ** (off / 1200)
    found = over(voice(262.0, 3.0), voice(524.5, 4.0, 0.8), 0.7 * voice(highest, 5.0, 1.7, lines=3))
    assert found.two.share > 0.1
    assert 1200 * np.log2(found.two.hz / highest) == pytest.approx(0, abs=6)


def test_where_no_odd_lines_sound_nothing_strays():
    found = over(voice(262.0, lines=1), voice(527.0, lines=1))
    assert found.one.share > 0.9
    assert found.strays < 0.1


def test_two_that_are_locked_to_each_other_are_one():
    found = over(voice(262.0, 4.0), voice(524.0, 4.0))
    assert found.one.share < 0.02


def test_a_rooms_answer_is_no_voice():
    dry = voice(262.0, 8.0)
    rng = np.random.default_rng(8)
    tail = rng.normal(0, 1, RATE // 3) * np.exp(-np.arange(RATE // 3) / (0.05 * RATE))
    wet = dry + 1.5 * np.convolve(dry, tail / np.linalg.norm(tail))[: len(dry)]
    found = octaves_of([wet[RATE // 4 :]], RATE, 262.0)
    assert found.one.share - found.strays < 0.06


def test_stretches_are_taken_together_and_short_ones_left_out():
    both = voice(262.0, 3.0), voice(526.0, 4.0, 0.8)
    assert over(*both, parts=3).one.share > 0.1
    assert over(*both, parts=40) is None
    assert octaves_of([], RATE, 262.0) is None


def test_a_voice_under_the_noise_is_not_followed():
    assert octaves_of([noise()], RATE, 262.0) is None
