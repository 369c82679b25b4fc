"""What is heard in takes with known truth: notes, settling, items, curves, and what cannot be told."""

from dataclasses import replace

import numpy as np
import pytest

from reeds.take.sound.alignment import aligned
from reeds.take.sound.analysis import analyse, analyse_with_tracks
from reeds.take.sound.contours import MOST_POINTS, contours_of
from reeds.take.sound.heard import NotesSpoken
from reeds.take.sound.rounding import significant
from reeds.take.sound.signals import Waveform
from reeds.take.sound.stored import heard_to_json
from tests.simulate_sound import Blow, Room, hertz, plain, record


def heard(blows, seconds, room=None, seed=1, **asked):
    sung = record(blows, seconds, room or Room(), np.random.default_rng(seed))
    return analyse(Waveform(sung.samples - sung.samples.mean(), sung.rate), **asked)


@pytest.mark.parametrize("name", ["Bb3", "A4", "E5", "C6", "G6"])
@pytest.mark.parametrize("weak_first_db", [-25, 0])
def test_a_note_with_a_weak_or_strong_first_harmonic_keeps_its_octave(name, weak_first_db):
    notes = heard([plain(name, weak_first_db=weak_first_db)], 2.0).notes
    assert [note.name for note in notes] == [name]
    assert notes[0].cents.value == pytest.approx(0, abs=0.05)


def test_vibrato_counts_in_whole_cycles():
    swinging = plain("A4", vibrato_cents=20, vibrato_hz=5.3, vibrato_phase=1.0, length=0.75)
    note = heard([swinging], 2.0).notes[0]
    assert note.cents.value == pytest.approx(0, abs=0.1)
    assert note.steadiness_cents.value == pytest.approx(20 / np.sqrt(2), rel=0.1)


def test_drift_and_a_steady_note_are_told_apart():
    falling, steady = plain("A4", drift=-6.0, length=1.5), plain("A4", start=3.0)
    notes = heard([falling, steady], 5.0).notes
    assert notes[0].drift_cents_per_s.value == pytest.approx(-6, abs=0.2)
    assert notes[1].drift_cents_per_s.value == pytest.approx(0, abs=0.1)
    assert notes[0].cents.u > notes[1].cents.u


@pytest.mark.parametrize(("attack", "breath"), [(0.005, 0.0), (0.05, 0.0), (0.2, 0.0), (0.02, 0.1)])
def test_response_runs_from_the_first_air_to_within_3_db(attack, breath):
    blown = plain("D4", attack=attack, breath_before=breath, breath_level=0.01 if breath else 1e-5)
    note = heard([blown], 2.0).notes[0]
    truth = 1000 * (breath + attack * 10 ** (-3 / 20))
    assert note.response_ms.value == pytest.approx(truth, abs=max(10, 0.15 * truth))
    assert note.start_s == pytest.approx(0.5 - breath, abs=0.006)


def test_legato_notes_are_parted_where_the_pitch_changes():
    names = ["Bb3", "B3", "C4", "Eb4"]
    blows = [plain(name, start=0.5 + 0.3 * i, length=0.3) for i, name in enumerate(names)]
    assert [note.name for note in heard(blows, 2.2).notes] == names


def test_a_live_room_adds_no_notes():
    swinging = plain("G5", length=1.5, vibrato_cents=18)
    live = Room(reverb_s=0.5, reverb_db=-8)
    assert [note.name for note in heard([swinging, plain("D4", start=2.6)], 4.5, live).notes] == ["G5", "D4"]


def test_only_breath_is_no_note_but_an_attempt():
    breath = plain("Bb3", breath_only=True, breath_level=0.01)
    told = heard([breath, plain("C4", start=2.0)], 3.5, item="low_notes")
    assert [note.name for note in told.notes] == ["C4"]
    assert told.item == NotesSpoken(asked=2, spoke=1)


def test_a_staccato_counts_paces_and_names_a_failed_attack():
    starts = [0.5 + 0.15 * i for i in range(12)]
    blows = [Blow(hertz("A4"), at, 0.08, attack=0.008, release=0.015) for at in starts]
    blows[5] = replace(blows[5], breath_only=True, breath_level=0.02)
    item = heard(blows, 3.0, item="staccato").item
    assert item.count == 11
    assert item.failed == 1
    assert item.rate_per_s.value == pytest.approx(1 / 0.15, rel=0.01)
    assert item.interval_cv.value < 0.05


def test_a_swelling_tone_gives_its_range():
    swell = plain("A4", length=4.0, swell_db=20.0, attack=0.05)
    assert heard([swell], 5.0, item="long_tone").item.range_db.value == pytest.approx(20, abs=2)


def test_a_tuning_note_is_measured_against_the_studios_a():
    item = heard([plain("A4", a4=442)], 2.0, item="tuning", a4_hz=443.0).item
    assert item.cents.value == pytest.approx(1200 * np.log2(442 / 443), abs=0.05)
    assert item.cents.u > 0


def test_a_crow_in_octaves_gives_both_pitches():
    low, high = Blow(530, 0.5, 1.2, level=0.2), Blow(1070, 0.5, 1.2, level=0.2)
    item = heard([low, high], 2.5, Room(pink_snr_db=10), item="crow").item
    assert item.octave is True
    for truth in (530, 1070):
        assert any(abs(1200 * np.log2(p.hz / truth)) < 20 for p in item.pitches)


def test_a_crow_of_two_pitches_that_are_no_octave_says_so():
    low, high = Blow(494, 0.5, 1.2, level=0.2), Blow(830, 0.5, 1.2, level=0.2)
    item = heard([low, high], 2.5, Room(pink_snr_db=15), item="crow").item
    assert item.octave is False
    assert len(item.pitches) >= 2


def test_a_recording_in_loud_noise_says_that_it_cannot_tell():
    told = heard([plain("A4")], 2.5, Room(pink_snr_db=3))
    assert any("too noisy" in warning for warning in told.warnings)


def test_a_telephones_band_is_said():
    told = heard([plain("A4")], 2.5, Room(band=(300, 3400)))
    assert any("telephone" in warning for warning in told.warnings)
    assert not heard([plain("A4")], 2.5).warnings


def test_a_missing_note_does_not_shift_those_after_it():
    assert aligned([200.0, 100.0, 0.0], [195.0, 10.0]) == [0, None, 1]
    assert aligned([200.0, 100.0], [1400.0, 90.0]) == [0, 1]
    assert aligned([200.0, 100.0], [None, 100.0]) == [0, 1]
    assert aligned([], [100.0]) == []
    assert aligned([100.0], []) == [None]


def test_json_keeps_the_doubt_to_three_digits_and_the_cents_finer():
    note = heard_to_json(heard([plain("A4")], 2.0))["notes"][0]
    assert 0 < note["cents_standard_uncertainty"] < 0.01
    assert significant(0.0012345) == 0.00123
    assert significant(0.0) == 0.0


def test_the_tracks_are_thinned_for_drawing():
    sung = record([plain("D4"), plain("C4", start=2.0)], 3.5, Room(), np.random.default_rng(1))
    _, tracks = analyse_with_tracks(Waveform(sung.samples, sung.rate))
    points = contours_of(tracks)
    assert len(points.hz) == len(points.level_db) <= MOST_POINTS
    middle = round(1.0 / points.step_s)
    assert points.hz[middle] == pytest.approx(hertz("D4"), abs=0.2)
    assert points.hz[2] is None
    assert points.level_db[middle] > points.level_db[2] + 40


def test_figures_of_an_item_have_their_doubt():
    starts = [0.5 + 0.15 * i for i in range(12)]
    tongued = heard([Blow(hertz("A4"), at, 0.08, attack=0.008) for at in starts], 3.0, item="staccato").item
    assert abs(tongued.rate_per_s.value - 1 / 0.15) < 3 * tongued.rate_per_s.u < 0.3
    assert 0 < tongued.interval_cv.u < 0.05
    swell = heard([plain("A4", length=4.0, swell_db=20.0)], 5.0, item="long_tone").item
    assert 0 < swell.range_db.u < 2
    low, high = Blow(530, 0.5, 1.2, level=0.2), Blow(1070, 0.5, 1.2, level=0.2)
    crowing = heard([low, high], 2.5, Room(pink_snr_db=10), item="crow").item
    assert all(0 < pitch.cents.u < 10 for pitch in crowing.pitches)


def test_a_vibrato_of_the_breath_alone_is_one_note():
    swelling = plain("C6", length=1.5, vibrato_cents=5, vibrato_hz=5.8, vibrato_level=0.26)
    assert [note.name for note in heard([swelling], 2.5).notes] == ["C6"]


def test_a_deep_vibrato_is_averaged_from_its_beginning_to_its_end():
    note = heard([plain("A4", length=1.4, vibrato_cents=38, vibrato_hz=5.2)], 2.5).notes[0]
    assert note.cents.value == pytest.approx(0, abs=0.05)
    assert note.steadiness_cents.value == pytest.approx(38 / np.sqrt(2), rel=0.05)


@pytest.mark.parametrize("asked", [{"a4_hz": 400.0}, {"item": "whistle"}])
def test_what_cannot_be_asked_is_refused(asked):
    with pytest.raises(ValueError, match=r"\.$"):
        heard([plain("A4")], 2.0, **asked)
