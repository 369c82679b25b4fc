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


@pytest.mark.parametrize("cents", [15, 40])
@pytest.mark.parametrize("phase", [0.0, 1.6, 3.1, 4.7])
def test_vibrato_does_not_lengthen_the_response(cents, phase):
    swinging = plain("A4", attack=0.03, length=1.5, vibrato_cents=cents, vibrato_hz=5.4, vibrato_phase=phase)
    note = heard([swinging], 3.0).notes[0]
    assert note.response_ms.value == pytest.approx(1000 * 0.03 * 10 ** (-3 / 20), abs=15)


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


def strokes(name="A4", length=0.08):
    return [Blow(hertz(name), 0.5 + 0.15 * i, length, attack=0.008, release=0.015) for i in range(12)]


def test_a_stroke_of_air_close_to_its_neighbours_failed_and_a_rest_that_rings_did_not():
    blows = strokes(length=0.115)
    blows[5] = replace(blows[5], breath_only=True, breath_level=0.02)
    item = heard(blows, 3.0, item="staccato").item
    assert (item.count, item.failed) == (11, 1)
    rest = heard(blows[:5] + blows[6:], 3.0, Room(reverb_s=0.3, reverb_db=-8), item="low_notes").item
    assert rest.asked == 11


def test_clicks_outside_the_strokes_are_no_failed_attacks():
    clicks = [Blow(2400.0 / 1.3, at, 0.05, level=0.02, attack=0.004) for at in (0.1, 0.3, 2.6, 2.8)]
    item = heard([*strokes(), *clicks], 3.2, item="staccato").item
    assert (item.count, item.failed) == (12, 0)


def test_staccato_in_a_room_that_rings_too_long_gives_no_figures_but_says_so():
    told = heard(strokes(), 4.5, Room(reverb_s=1.6, reverb_db=-3), item="staccato")
    assert told.item is None
    assert any("rings too long to count" in warning for warning in told.warnings)


def test_strokes_missed_under_another_voice_are_not_counted():
    kept = [blow for i, blow in enumerate(strokes()) if i not in (4, 5, 8)]
    voice = [Blow(330.0 + 15 * i, 2.5 + 0.25 * i, 0.1, level=0.03) for i in range(4)]
    told = heard([*kept, *voice], 4.0, item="staccato")
    assert told.item is None
    assert any("cannot be counted" in warning for warning in told.warnings)


def test_a_long_note_with_tremolo_is_one_note():
    swelling = plain("A4", length=2.0, vibrato_cents=5, vibrato_hz=5.5, vibrato_level=0.5)
    assert [note.name for note in heard([swelling], 3.0).notes] == ["A4"]


def test_a_crow_with_a_voice_under_it_gives_all_three():
    blows = [Blow(hz, 0.5, 1.2, level=0.2) for hz in (262, 531, 1052)]
    item = heard(blows, 2.5, Room(pink_snr_db=15), item="crow").item
    assert [pitch.name for pitch in item.pitches] == ["C4", "C5", "C6"]


def test_a_swelling_tone_gives_its_range():
    swell = plain("A4", length=4.0, swell_db=20.0, attack=0.05)
    assert heard([swell], 5.0, item="long_tone").item.range_db.value == pytest.approx(20, abs=2)


def test_a_long_tone_that_fades_says_nothing_of_the_room():
    swell = plain("A4", length=4.0, swell_db=20.0)
    assert heard([swell], 5.0, item="long_tone").warnings == ()


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
    assert aligned([200.0, 100.0, 0.0], [195.0, 10.0]).places == [0, None, 1]
    assert aligned([200.0, 100.0], [1400.0, 90.0]).places == [0, 1]
    assert aligned([200.0, 100.0], [None, 100.0]).places == [0, 1]
    assert aligned([], [100.0]).places == []
    assert aligned([100.0], []).places == [None]


LOW = [6200.0, 6000.0, 5900.0, 5800.0]


def test_a_note_played_twice_does_not_stand_for_the_silent_one_after_it():
    found = aligned(LOW, [6205.0, 6003.0, 5998.0, None, 5801.0])
    assert found.places in ([0, 1, 3, 4], [0, 2, 3, 4])
    assert not found.is_moved


@pytest.mark.parametrize(
    ("heard", "silent"),
    [
        ([6212.0, 5993.0, 5987.0, None, 5792.0], 2),
        ([6178.0, 6012.0, 5905.0, 5887.0, None], 3),
    ],
)
def test_a_note_a_semitone_off_and_played_twice_is_not_tuned_into_the_silent_one(heard, silent):
    answer = aligned(LOW, heard).places[silent]
    assert answer is None or heard[answer] is None


def test_a_wrong_note_first_does_not_shift_those_after_it():
    assert aligned(LOW, [6400.0, 6200.0, 6000.0, 5900.0, None]).places == [1, 2, 3, 4]


def test_a_list_all_a_tone_low_is_told_as_moved_and_one_on_another_a_is_not():
    low = aligned([one + 200.0 for one in LOW], LOW)
    assert (low.places, low.is_moved, low.shift_cents) == ([0, 1, 2, 3], True, -200.0)
    assert not aligned([one + 40.0 for one in LOW], LOW).is_moved
    assert not aligned(LOW[:2], [one - 200.0 for one in LOW[:2]]).is_moved


def test_two_swapped_notes_are_found_and_named():
    found = aligned(LOW, [6200.0, 5900.0, 6000.0, 5800.0])
    assert (found.places, found.swapped) == ([0, 2, 1, 3], (1,))


def test_another_note_than_the_tuning_note_gives_no_figure_and_is_named():
    told = heard([plain("G4")], 2.0, item="tuning", expect=[69])
    assert told.item.cents is None
    assert (told.notes[0].sounded, told.notes[0].heard) == (False, "G4")


def lows(names, **more):
    return [plain(name, start=0.6 + 1.5 * i, **more) for i, name in enumerate(names)]


@pytest.mark.parametrize(
    ("played", "sentence"),
    [
        (["D4", "C4", "B3", "Bb3"], None),
        (["D4", "B3", "C4", "Bb3"], "another order"),
        (["E4", "D4", "C#4", "C4"], "higher than asked"),
    ],
)
def test_another_list_than_asked_is_said(played, sentence):
    told = heard(lows(played), 7.0, item="low_notes", expect=[62, 60, 59, 58])
    assert told.item == NotesSpoken(4, 4)
    assert told.warnings == () if sentence is None else sentence in told.warnings[-1]
    assert told.moved_cents == (200.0 if sentence and "higher" in sentence else None)


def test_a_steady_tone_besides_takes_the_response_and_is_told():
    hum = Blow(hertz("A3"), 0.0, 6.9, level=0.02, attack=0.01, weak_first_db=6)
    told = heard([hum, *lows(["D4", "C4", "B3", "Bb3"])], 7.0, item="low_notes", expect=[62, 60, 59, 58])
    assert [(one.kind, one.hz) for one in told.also] == [("tone", pytest.approx(220, abs=3))]
    assert all(note.response_ms is None for note in told.notes)
    assert any("something else sounds" in warning for warning in told.warnings)


def test_other_notes_far_away_take_the_response_only_of_what_they_touch():
    low = lows(["D4", "C4", "B3", "Bb3"])
    far = [Blow(hertz(name), 6.6 + 0.3 * i, 0.2, level=0.01) for i, name in enumerate(["G4", "E5", "A4"])]
    told = heard([*low, *far], 8.5, item="low_notes", expect=[62, 60, 59, 58])
    assert [one.kind for one in told.also] == ["voices"]
    assert told.also[0].start_s == pytest.approx(6.6, abs=0.15)
    assert all(note.response_ms is not None for note in told.notes)


def test_a_hall_takes_the_response_and_a_room_does_not():
    blows = lows(["D4", "C4"])
    ringing = heard(blows, 5.0, Room(reverb_s=1.6, reverb_db=-3))
    assert all(note.response_ms is None for note in ringing.notes)
    assert any("rings" in warning for warning in ringing.warnings)
    room = heard(blows, 5.0, Room(reverb_s=0.4, reverb_db=-8))
    assert all(note.response_ms is not None for note in room.notes)


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
