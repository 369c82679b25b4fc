"""Outside ears on the same takes: two of Praat's, and Debian's General MIDI sound font."""

import shutil
import struct
import subprocess
from pathlib import Path

import numpy as np
import parselmouth
import pytest

from reeds.take.sound.analysis import analyse
from reeds.take.sound.decode import decode_take
from reeds.take.sound.signals import Waveform
from tests.simulate_sound import Room, plain, record

NOTES = ["Bb3", "D4", "A4", "E5", "C6", "F6"]
FONT = Path("/usr/share/sounds/sf2/FluidR3_GM.sf2")


@pytest.fixture(scope="module")
def take():
    blows = [plain(n, 441.0, start=0.5 + 1.3 * i, vibrato_cents=8 * (i % 2)) for i, n in enumerate(NOTES)]
    sung = record(blows, 8.5, Room(), np.random.default_rng(9))
    return Waveform(sung.samples, sung.rate)


@pytest.fixture(scope="module")
def heard(take):
    notes = analyse(take).notes
    assert [note.name for note in notes] == NOTES
    return notes


def test_praats_own_pitch_agrees(take, heard):
    """Praat, Sound: To Pitch (ac), very accurate: median over the middle of each note within half a cent."""
    pitch = parselmouth.Sound(take.samples, take.rate_hz).to_pitch_ac(
        time_step=0.005, pitch_floor=180, pitch_ceiling=2200, very_accurate=True
    )
    hz, t = pitch.selected_array["frequency"], pitch.xs()
    for note in heard:
        inside = (t > note.start_s + 0.1) & (t < note.end_s - 0.1) & (hz > 0)
        mean = np.mean(1200 * np.log2(hz[inside] / note.hz(440.0)))
        assert abs(mean) < 1.5 if note.steadiness_cents.value > 3 else abs(mean) < 0.5


def test_subharmonic_summation_agrees(take, heard):
    """Praat's other ear (subharmonics, Hermes 1988): it looks 48 times an octave, so within 12 cents."""
    pitch = parselmouth.Sound(take.samples, take.rate_hz).to_pitch_shs(
        minimum_pitch=150, maximum_frequency_component=8000, ceiling=2200
    )
    hz, t = pitch.selected_array["frequency"], pitch.xs()
    for note in heard:
        inside = (t > note.start_s + 0.2) & (t < note.end_s - 0.2) & (hz > 0)
        assert inside.sum() > 30
        assert abs(np.median(1200 * np.log2(hz[inside] / note.hz(440.0)))) < 12


def midi_of(notes, program=68):
    """A standard MIDI file: 0.8 s notes, 0.4 s rests, 120 quarters a minute, 480 ticks a quarter."""
    track = b"\x00" + bytes([0xC0, program])
    for note in notes:
        track += b"\x83\x00" + bytes([0x90, note, 90]) + b"\x86\x00" + bytes([0x80, note, 0])
    track += b"\x83\x00\xff\x2f\x00"
    return b"MThd" + struct.pack(">IHHH", 6, 0, 1, 480) + b"MTrk" + struct.pack(">I", len(track)) + track


@pytest.mark.skipif(
    shutil.which("fluidsynth") is None or not FONT.exists(),
    reason="needs Debian's fluidsynth and fluid-soundfont-gm",
)
def test_the_oboe_of_a_general_midi_sound_font_is_heard_note_for_note(tmp_path):
    """FluidSynth with Debian's FluidR3 font, program 69 (oboe); 15 cents allow for the font's own tuning."""
    asked = [58, 62, 65, 69, 74, 79, 84, 88]
    (tmp_path / "in.mid").write_bytes(midi_of(asked))
    player = shutil.which("fluidsynth") or ""
    words = [
        "-ni",
        "-R",
        "0",
        "-C",
        "0",
        "-F",
        str(tmp_path / "out.wav"),
        str(FONT),
        str(tmp_path / "in.mid"),
    ]
    subprocess.run([player, *words], check=True, capture_output=True)  # noqa: S603 - our own file
    notes = analyse(decode_take(tmp_path / "out.wav"), expect=asked).notes
    assert [note.sounded for note in notes] == [True] * len(asked)
    for note in notes:
        assert abs(note.cents.value) < 15
        assert note.end_s - note.start_s == pytest.approx(0.8, abs=0.25)
