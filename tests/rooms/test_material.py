"""The material itself: what is said to be true of a take is true of its samples."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import signal

from reeds.take.sound.decode import decode_take
from tests.rooms import tools
from tests.rooms.around import SOUNDS, loudness, metronome, pink
from tests.rooms.box import impulse, noise_impulse
from tests.rooms.compose import A4_HZ, Scene, composed, hz_of
from tests.rooms.conditions import CONDITIONS, HALVES, made, seeds
from tests.rooms.lists import in_a_row
from tests.rooms.phone import TELEPHONE, file_of, float_file
from tests.rooms.reed import RATE, Stroke, a_colour, blown, curves_of
from tests.rooms.truth import Besides, Played, Tried

needs_programs = pytest.mark.skipif(
    bool(tools.missing()), reason="needs Debian's fluidsynth, its font, espeak-ng"
)
STROKE = Stroke(hz_of(69), 69, 0.5, 1.0, rise_s=0.05, air_s=0.0)
ALONE = ("other note", "swapped", "attacks", "tremolo", "crow of two", "staccato dry", "staccato hall")


def tone_of(stroke: Stroke, seed: int = 1) -> np.ndarray:
    rng = np.random.default_rng(seed)
    colour = replace(a_colour(rng), hiss_db=-80.0, jitter=1e-5, shimmer=1e-4)
    return blown(stroke, curves_of(stroke, rng), colour, rng)


def level_db(x: np.ndarray, window_s: float = 4 / STROKE.hz) -> np.ndarray:
    size = round(window_s * RATE)
    return 10 * np.log10(np.convolve(x**2, np.ones(size) / size, "same") + 1e-20)


# --- the reed ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("number", [58, 69, 86])
def test_a_tone_has_the_pitch_that_is_stated(number):
    x = tone_of(replace(STROKE, hz=hz_of(number)))
    size = 8 * RATE
    spectrum = np.abs(np.fft.rfft(x * np.hanning(len(x)), size))
    f = np.fft.rfftfreq(size, 1 / RATE)
    near = np.abs(f - hz_of(number)) < 10
    assert 1200 * np.log2(f[near][np.argmax(spectrum[near])] / hz_of(number)) == pytest.approx(0, abs=1.0)


@pytest.mark.parametrize("rise_s", [0.01, 0.05, 0.2, 0.4])
def test_a_tone_rises_as_long_as_is_stated(rise_s):
    x = tone_of(replace(STROKE, rise_s=rise_s, length_s=1.5 + rise_s))
    db = level_db(x)
    full = np.median(db[round(0.6 * len(db)) : round(0.8 * len(db))])
    assert np.argmax(db > full - 3.0) / RATE == pytest.approx(rise_s, abs=0.004)


def test_a_swing_of_level_is_as_wide_as_is_stated():
    x = tone_of(replace(STROKE, length_s=3.0, trill_db=8.0))
    middle = level_db(x, 0.01)[RATE : 2 * RATE]
    assert np.percentile(middle, 99) - np.percentile(middle, 1) == pytest.approx(8.0, abs=1.0)


def test_an_attempt_that_does_not_speak_is_only_air():
    air = tone_of(replace(STROKE, spoke=False, air_db=-20.0))
    assert 20 * np.log10(air[RATE // 4 : RATE // 2].std() / STROKE.level) == pytest.approx(-20.0, abs=1.0)
    spectrum = np.abs(np.fft.rfft(air)) ** 2
    peak = spectrum[round(0.95 * hz_of(69)) : round(1.05 * hz_of(69))]
    assert peak.max() < 30 * np.median(peak)


# --- the room ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("rt60_s", [0.3, 0.6, 1.2, 2.0])
@pytest.mark.parametrize("drr_db", [4.0, -6.0])
@pytest.mark.parametrize("impulse", [impulse, noise_impulse])
def test_a_room_rings_as_long_as_is_stated(impulse, rt60_s, drr_db):
    """Schroeder's backward integration under 2 kHz, -5 to -25 dB (T20 of ISO 3382), within a tenth."""
    response = impulse(rt60_s, drr_db, 7)
    late = signal.sosfiltfilt(signal.butter(3, 2000, fs=RATE, output="sos"), response[round(0.003 * RATE) :])
    left = 10 * np.log10(np.cumsum(late[::-1] ** 2)[::-1] + 1e-30)
    left -= left[0]
    a, b = np.argmax(left < -5), np.argmax(left < -25)
    assert 3 * (b - a) / RATE == pytest.approx(rt60_s, rel=0.1)


@pytest.mark.parametrize("drr_db", [4.0, 0.0, -6.0])
@pytest.mark.parametrize("impulse", [impulse, noise_impulse])
def test_direct_sound_and_room_are_to_each_other_as_is_stated(impulse, drr_db):
    response = impulse(0.8, drr_db, 3)
    edge = round(0.0025 * RATE)
    direct, later = (response[:edge] ** 2).sum(), (response[edge:] ** 2).sum()
    assert 10 * np.log10(direct / later) == pytest.approx(drr_db, abs=0.1)
    assert np.argmax(np.abs(response)) < edge


# --- what else sounds --------------------------------------------------------------------------------------


def test_pink_noise_falls_three_decibels_an_octave():
    x = pink(20.0, np.random.default_rng(1))
    f, power = signal.welch(x, RATE, nperseg=8192)
    band = (f > 100) & (f < 5000)
    slope = np.polyfit(np.log2(f[band]), 10 * np.log10(power[band]), 1)[0]
    assert slope == pytest.approx(-3.0, abs=0.4)


def test_a_metronome_keeps_its_step():
    x = metronome(10.0, np.random.default_rng(1))
    db = level_db(x, 0.01)
    on = np.flatnonzero(np.diff((db > db.max() - 10).astype(int)) == 1)
    assert np.ptp(np.diff(on)) < 0.005 * RATE


@needs_programs
@pytest.mark.parametrize("kind", list(SOUNDS))
def test_what_else_sounds_stands_at_its_level_in_its_time(kind):
    strokes = in_a_row((69, 67, 65, 64), np.random.default_rng(1))
    besides = Besides(kind, -6.0, 0.5, 4.5)
    quiet = Scene(
        "low_notes", (69, 67), strokes, a_colour(np.random.default_rng(2)), floor_db=-90.0, peak=0.4
    )
    with_it = composed(replace(quiet, besides=[besides]), np.random.default_rng(3))
    without = composed(quiet, np.random.default_rng(3))
    gain = 10 ** ((with_it.played[0].level_db - without.played[0].level_db) / 20)
    # both are made from the same seed up to the other sound, so that the oboe is the same
    other = with_it.samples - gain * without.samples
    oboe = np.concatenate([gain * without.samples[span(p, without.rate)] for p in without.played])
    rate = with_it.rate
    assert 20 * np.log10(loudness(signal.resample_poly(other, 160, 147)) / np.sqrt(np.mean(oboe**2))) == (
        pytest.approx(-6.0, abs=1.5)
    )
    inside = other[round(0.5 * rate) : round(5.0 * rate)]
    assert (inside**2).sum() > 0.98 * (other**2).sum()


def span(stroke: Played | Tried, rate: int) -> slice:
    return slice(round(stroke.start_s * rate), round(stroke.end_s * rate))


# --- takes -------------------------------------------------------------------------------------------------


def test_a_settled_note_says_what_its_curves_do():
    stroke = replace(STROKE, hz=hz_of(69, 7.0), length_s=3.0, drift=4.0, air_s=0.08, air_db=-25.0)
    take = composed(
        Scene("tuning", (69,), [stroke], a_colour(np.random.default_rng(2))), np.random.default_rng(3)
    )
    played = take.played[0]
    assert take.a4_hz == A4_HZ
    assert played.cents == pytest.approx(7.0, abs=0.3)
    assert played.drift_cents_per_s == pytest.approx(4.0, abs=0.01)
    assert played.sd_cents == pytest.approx(0.0, abs=0.01)
    assert played.rise_ms == pytest.approx(50.0)
    assert played.answer_ms == pytest.approx(80.0 + 50.0, abs=2.0)
    assert played.air_s == pytest.approx(0.5 - 0.08)


def test_a_slow_pitch_settles_later_than_its_level():
    """40 cents low at first, and 30 ms to fall by e: 20 cents are left after 30 ln 2 ms, its level before."""
    stroke = replace(STROKE, rise_s=0.013, scoop_cents=40.0, scoop_s=0.03)
    take = composed(
        Scene("tuning", (69,), [stroke], a_colour(np.random.default_rng(2))), np.random.default_rng(3)
    )
    heard_late = take.played[0].answer_ms
    assert heard_late == pytest.approx(1000 * 0.03 * np.log(2.0), abs=2.0)


@needs_programs
@pytest.mark.parametrize("condition", ALONE)
def test_energy_lies_where_the_truth_says_that_notes_sound(condition):
    """Every note stands well over its own last moment before, and what lies outside all notes is quieter."""
    for seed in (0, 1):
        for take in made(condition, seed):
            x = take.samples**2
            inside = np.zeros(len(x), bool)
            for played in take.played:
                inside[span(played, take.rate)] = True
                assert x[span(played, take.rate)].mean() > 3 * x[: round(0.5 * take.rate)].mean()
            before = round((take.played[0].air_s - 0.02) * take.rate)
            assert x[inside].mean() > 100 * x[:before].mean()


@needs_programs
def test_a_take_of_a_seed_is_always_the_same_and_every_seed_another():
    for condition in ("piano", "talk before", "staccato babble", "wrong first"):
        one, again, other = (made(condition, seed)[0] for seed in (4, 4, 6))
        assert np.array_equal(one.samples, again.samples)
        assert one.strokes == again.strokes
        assert one.strokes != other.strokes


@needs_programs
@pytest.mark.parametrize("condition", list(CONDITIONS))
def test_every_condition_makes_a_take_that_can_be_sent(condition):
    take = made(condition, 2)[0]
    assert np.isfinite(take.samples).all()
    assert 0.03 < np.abs(take.samples).max() < 0.9
    assert all(stroke.end_s < len(take.samples) / take.rate for stroke in take.strokes)
    assert decode_take(file_of(take.samples, take.rate, take.codec)).duration_s == pytest.approx(
        len(take.samples) / take.rate, abs=0.05
    )


def test_the_halves_of_the_seeds_share_none():
    assert HALVES.keys() == {"fix", "report"}
    fix, report = set(seeds("fix", 50)), set(seeds("report", 50))
    assert len(fix) == len(report) == 50
    assert not fix & report
    later = set(seeds("report", 10, first=50))
    assert len(later) == 10
    assert not later & (fix | report)


# --- the phone ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("codec", "rate"), [("wav", 44100), ("aac", 48000), ("libopus", 48000)])
def test_a_file_gives_back_level_and_time(codec, rate):
    x = np.zeros(2 * rate)
    x[rate : rate + rate // 2] = 0.3 * np.sin(2 * np.pi * 440 * np.arange(rate // 2) / rate)
    back = decode_take(file_of(x, rate, codec)).samples
    assert np.argmax(np.abs(back) > 0.15) / rate == pytest.approx(1.0, abs=0.004)
    tone = back[round(1.1 * rate) : round(1.4 * rate)]
    assert 20 * np.log10(np.sqrt(2) * tone.std() / 0.3) == pytest.approx(0.0, abs=0.5)


def test_a_telephone_lets_only_its_band_through():
    take = composed(
        Scene("tuning", (69,), [STROKE], a_colour(np.random.default_rng(2)), phone=TELEPHONE),
        np.random.default_rng(3),
    )
    f, power = signal.welch(take.samples, take.rate, nperseg=2048)
    assert power[f > 5000].max() < 1e-3 * power.max()


def test_a_float_file_holds_what_is_no_number():
    file = float_file(np.array([0.0, np.nan, 0.5]), 8000).getvalue()
    assert np.isnan(np.frombuffer(file[-12:], np.float32)[1])
