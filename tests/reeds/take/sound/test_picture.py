"""Where everything in the picture of a take lies."""

from itertools import pairwise

import pytest

from reeds.numbers.measured import Measured
from reeds.take.sound import picture
from reeds.take.sound.contours import Contours
from reeds.take.sound.heard import Heard, HeardNote
from reeds.take.sound.picture import PictureScale, picture_of, scale_of

A4 = 442.0


def note(name="A4", start=1.0, end=2.0, cents=0.0, sounded=True):
    return HeardNote(start, end, sounded, name, Measured(cents))


def heard(*notes, seconds=4.0):
    return Heard(A4, seconds, notes)


def contours(*hz, step=1.0):
    return Contours(step, hz, (-20.0,) * len(hz))


def test_a_pitch_lies_as_many_cents_off_the_middle_as_it_is_off_its_note():
    drawn = picture_of(contours(A4 * 2 ** (25 / 1200), A4, step=1.0), heard(note(start=0)), PictureScale(4.0))
    [line] = drawn.pitch
    ys = [float(point.split(",")[1]) for point in line.split()]
    assert ys == [pytest.approx(45.0), pytest.approx(70.0)]
    assert [tick.value for tick in drawn.cents_ticks] == [-50, 0, 50]


def test_the_line_breaks_where_no_pitch_is_heard_and_between_notes():
    low, high = note("A4", 0, 2), note("B4", 3, 5)
    drawn = picture_of(
        contours(A4, A4, None, A4 * 2 ** (2 / 12), A4 * 2 ** (2 / 12)), heard(low, high), PictureScale(5)
    )
    assert len(drawn.pitch) == 2
    together = picture_of(contours(A4, A4, A4 * 2 ** (2 / 12), A4 * 2 ** (2 / 12)), heard(), PictureScale(5))
    assert len(together.pitch) == 2


def test_time_runs_from_the_left_to_the_right_edge():
    scale = PictureScale(4.0)
    assert (scale.x(0), scale.x(4), scale.x(9)) == (picture.LEFT, picture.RIGHT, picture.RIGHT)


def test_the_scale_fits_the_longest_take_and_the_note_furthest_off():
    assert scale_of([heard(seconds=3), heard(seconds=8)]) == PictureScale(8.0, 50.0)
    assert scale_of([heard(note(cents=-60))]).cents == 100.0
    assert scale_of([]) == PictureScale(1.0, 50.0)


def test_limits_are_a_band_and_an_open_side_reaches_the_edge():
    drawn = picture_of(contours(A4), heard(), PictureScale(4.0), (-10.0, 10.0))
    assert (drawn.band.top, drawn.band.height) == (60.0, 20.0)
    opened = picture_of(contours(A4), heard(), PictureScale(4.0), (None, 0.0))
    assert (opened.band.top, opened.band.height) == (70.0, 50.0)
    assert picture_of(contours(A4), heard(), PictureScale(4.0), (None, None)).band is None


def test_names_stand_only_where_there_is_room_and_notes_not_found_are_left_out():
    crowded = [note(start=n / 10, end=n / 10 + 0.05) for n in range(30)]
    lost = note("D4", None, None, sounded=False)
    drawn = picture_of(contours(A4), heard(*crowded, lost), PictureScale(4.0))
    named = [one.left for one in drawn.notes if one.name]
    assert len(drawn.notes) == 30
    assert min(b - a for a, b in pairwise(named)) >= picture.NAME_ROOM


@pytest.mark.parametrize(("seconds", "step"), [(0.3, 0.5), (4, 1), (12, 2), (180, 30)])
def test_the_time_has_few_round_ticks(seconds, step):
    drawn = picture_of(contours(A4), heard(seconds=seconds), PictureScale(seconds))
    values = [tick.value for tick in drawn.time_ticks]
    assert values == [place * step for place in range(len(values))]
    assert len(values) <= 8
