"""The tongue heard through a room that rings: strokes without a dip of the level, and what is none."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from reeds.take.sound.dips import interruptions
from reeds.take.sound.ringing import ringing_s
from reeds.take.sound.signals import HOP_S, Segment, Tracks
from reeds.take.sound.strokes import Strokes, is_disturbed, rings_too_long, strokes_of
from reeds.take.sound.tongue import _fills_a_gap, tongued, turns_db
from tests.rooms.conditions import made
from tests.rooms.listening import listened

HZ, RATE, STEP_S = 440.0, 16000, 0.2


def row(count=10, without=(), step_s=STEP_S, held_s=0.13):
    """Onsets of a row and its samples: eight partials that die away as in a room of 0.4 s."""
    t = np.arange(round((0.5 + count * step_s + 0.5) * RATE)) / RATE
    onsets = 0.5 + step_s * np.array([i for i in range(count) if i not in without])
    blowing = sum((t >= one) & (t < one + held_s) for one in onsets).astype(float)
    decay = np.exp(-6.9 * t[: round(0.4 * RATE)] / 0.4)
    level = np.convolve(blowing, decay)[: len(t)] / decay.sum() + 0.4 * blowing
    noise = np.random.default_rng(3).normal(0.0, 1e-4, len(t))
    return onsets, level * sum(np.sin(2 * np.pi * k * HZ * t) for k in range(1, 9)) * 0.05 + noise


def tracks_of(samples):
    t = np.arange(int(len(samples) / RATE / HOP_S)) * HOP_S
    power = np.convolve(samples**2, np.ones(384) / 384, "same")
    level = 10 * np.log10(power[np.round(t * RATE).astype(int)] + 1e-9)
    return Tracks(samples, RATE, t, level, level, np.full(len(t), HZ), np.ones(len(t)))


@pytest.mark.parametrize("left", range(1, 16))
def test_a_dip_just_before_the_end_of_a_recording_is_looked_at(left):
    """It comes back within so few frames that one cannot look as far ahead as elsewhere."""
    _onsets, samples = row(count=1)
    tracks = tracks_of(samples)
    level = np.full(len(tracks.t_s), -20.0)
    level[-1 - left :] = np.linspace(-40.0, -20.0, left + 1)
    assert interruptions(replace(tracks, level_db=level)) in ([], [len(level) - 1 - left])


def test_partials_turn_up_where_a_stroke_begins_and_down_where_it_ends():
    onsets, samples = row()
    turns = turns_db(tracks_of(samples), HZ)
    for one in np.round(onsets[1:] / HOP_S).astype(int):
        assert turns[one - 8 : one + 9].max() > 3.0
        assert turns[one - 24 : one - 14].min() < -3.0


def test_strokes_that_are_not_known_are_found_by_those_that_are():
    onsets, samples = row()
    found = tongued(tracks_of(samples), np.delete(onsets, [4, 7]), HZ, 8.0)
    assert found.are_clear
    assert found.onsets_s == pytest.approx(onsets, abs=0.01)


def test_where_a_stroke_was_due_and_none_came_none_is_invented():
    onsets, samples = row(without=(4, 7))
    found = tongued(tracks_of(samples), onsets, HZ, 8.0)
    assert found.onsets_s == pytest.approx(onsets, abs=0.01)
    assert found.like.all()


def test_what_is_given_as_a_stroke_and_does_not_turn_is_not_like_one():
    onsets, samples = row(without=(4, 5))
    found = tongued(tracks_of(samples), np.insert(onsets, 4, 0.5 + 4.5 * STEP_S), HZ, 8.0)
    assert found.like.tolist() == [i != 4 for i in range(9)]


def test_of_three_strokes_nothing_is_learnt():
    onsets, samples = row(3)
    found = tongued(tracks_of(samples), onsets, HZ, 8.0)
    assert found.onsets_s is onsets
    assert not found.are_clear
    assert found.like.all()


def test_a_silent_take_has_no_turns():
    assert not turns_db(tracks_of(np.zeros(RATE)), HZ).any()


def test_strokes_of_one_long_segment_are_parted_and_end_where_the_next_begins():
    onsets, samples = row()
    tracks = tracks_of(samples)
    starts = np.round(np.delete(onsets, 5) / HOP_S).astype(int)
    ends = np.append(starts[1:], starts[-1] + 60) - 10
    segments = [Segment(a, a, b) for a, b in zip(starts.tolist(), ends.tolist(), strict=True)]
    found = strokes_of(tracks, segments, [HZ] * len(segments))
    assert (len(found.onsets_s), found.hidden, found.failed) == (10, 1, 0)
    assert found.ends_s[4] == pytest.approx(onsets[5], abs=0.01)
    # the same gap without a tone in it is no place for a hidden one
    segments[4] = replace(segments[4], end=segments[4].onset + 40)
    assert len(strokes_of(tracks, segments, [HZ] * len(segments)).onsets_s) == 9


def test_of_a_tone_cut_in_two_one_is_counted():
    onsets, samples = row()
    starts = np.round(onsets / HOP_S).astype(int).tolist()
    pieces = [Segment(a, a, a + 60) for a in starts]
    pieces[3:4] = [Segment(starts[3] - 18, starts[3] - 18, starts[3] - 2), pieces[3]]
    found = strokes_of(tracks_of(samples), pieces, [HZ] * len(pieces))
    assert found.onsets_s == pytest.approx(onsets, abs=0.01)


@pytest.mark.parametrize(
    ("doubtful", "fills"),
    [
        ((30,), [True]),
        ((24,), [False]),
        ((27, 33), [False, False]),
        ((12, 30), [False, True]),
    ],
)
def test_a_doubtful_turn_is_one_where_a_stroke_is_missing_and_it_is_alone(doubtful, fills):
    places = {0: True, 10: True, 20: True, 40: True, **dict.fromkeys(doubtful, False)}
    at = np.array(sorted(places))
    surely = np.array([places[one] for one in at])
    assert _fills_a_gap(at, surely, 10.0)[~surely].tolist() == fills
    assert not _fills_a_gap(at, surely, 20.0).any()  # where the step is as long as the gap none is missing


def test_a_doubtful_place_is_said_only_where_the_room_may_hide_a_stroke():
    onsets = 0.5 + STEP_S * np.arange(10)
    doubtful = Strokes(onsets, 0, onsets + 0.1, are_clear=False)
    assert rings_too_long(doubtful, 0.6)
    assert not rings_too_long(doubtful, 0.2)
    assert not rings_too_long(replace(doubtful, are_clear=True), 0.6)


def test_a_click_may_pass_for_a_stroke_off_the_beat_or_under_a_ringing():
    onsets = 0.5 + STEP_S * np.arange(10)
    quiet = {"something_else": False, "snr_db": 40.0}
    assert not is_disturbed(Strokes(onsets), clicks=True, **quiet)
    assert is_disturbed(Strokes(onsets, hidden=1), clicks=True, **quiet)
    assert not is_disturbed(Strokes(onsets, hidden=1), clicks=False, **quiet)
    between = np.insert(onsets, 5, onsets[4] + 0.09)
    assert is_disturbed(Strokes(between), clicks=True, **quiet)
    # a stroke that failed leaves a place of its own
    assert not is_disturbed(Strokes(np.delete(onsets, 5)), clicks=True, **quiet)


def test_in_a_room_of_half_a_second_hidden_strokes_are_counted():
    """Eight strokes, of which five stand out; a take of the seeds that constants were fixed on."""
    take = made("staccato other room", 28)[0]
    told = listened(take)
    assert told.item["count"] == len(take.played) == 8
    assert told.item["failed"] == 0
    assert told.item["rate_per_s"] == pytest.approx(
        1.0 / np.mean(np.diff([p.start_s for p in take.played])), rel=0.02
    )


def test_a_last_tone_that_sounds_on_for_one_more_is_doubtful():
    onsets, samples = row(9)
    held = samples.copy()
    last, longer = round(onsets[-1] * RATE), round(0.3 * RATE)
    held[last : last + longer] = 0.3 * np.sin(2 * np.pi * HZ * np.arange(longer) / RATE)
    assert tongued(tracks_of(samples), onsets, HZ, 8.0).are_clear
    assert not tongued(tracks_of(held), onsets, HZ, 8.0).are_clear


def test_the_room_is_heard_after_all_where_each_tone_runs_into_the_next():
    """As where a room beats with itself: what dies away passes for tones, none of which has a decay."""
    level = np.concatenate([np.full(400, -20.0), -20.0 - 0.1 * np.arange(480)])
    tracks = replace(tracks_of(np.zeros(RATE)), level_db=level)
    starts = [0, *range(430, 880, 50)]
    pieces = [Segment(a, a, b) for a, b in pairwise([*starts, 880])]
    assert ringing_s(tracks, pieces, -70.0) == pytest.approx(1.5, rel=0.02)
