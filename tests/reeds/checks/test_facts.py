"""Which reading the checks use, and which clips count."""

from reeds.checks.facts import Clip
from reeds.checks.newest import newest
from reeds.numbers.measured import Measured
from reeds.numbers.words import Stage
from tests.reeds.checks.make import at, clip, number, reed


def test_the_newest_reading_is_used_whoever_measured():
    students = number("tie_length", 72.0, when=at(1), stage=Stage.TIED)
    teachers = number("tie_length", 72.4, when=at(5), stage=Stage.TIED, by_teacher=True)
    assert newest([teachers, students])["tie_length"] is teachers
    later = number("tie_length", 72.1, when=at(9), stage=Stage.TIED)
    assert newest([later, teachers, students])["tie_length"] is later


def test_a_reading_of_the_quantitys_own_stage_goes_before_a_later_one():
    tied = number("tie_length", 72.0, when=at(1), stage=Stage.TIED)
    playing = number("tie_length", 71.0, when=at(90), stage=Stage.PLAYING)
    assert newest([tied, playing])["tie_length"] is tied
    assert newest([playing])["tie_length"] is playing


def test_of_two_of_the_same_moment_the_later_entered_is_used():
    first, second = number("gouge", 0.57, when=at(1)), number("gouge", 0.58, when=at(1))
    assert newest([first, second])["gouge"] is second
    undated = number("gouge", 0.59)
    assert newest([first, undated])["gouge"] is first


def test_a_quantity_that_is_no_longer_in_the_registry_is_left_out():
    assert newest([number("reed_colour", 1.0)]) == {}


def test_clips_are_summed_with_their_doubt():
    facts = reed(clips=(clip(1.0, 1), clip(0.2, 3), clip(0.3, 5)))
    assert facts.clipped() == Measured(1.5, facts.clipped().u)
    assert round(facts.clipped().u, 4) == round(0.2 * 3**0.5, 4)
    assert facts.clipped(until=at(3)).value == 1.2
    assert facts.clipped(after=at(3)).value == 0.3
    assert reed().clipped() == Measured(0.0)


def test_a_clip_without_a_time_counts_as_before_everything():
    facts = reed(clips=(Clip(Measured(1.0, 0.2)),))
    assert facts.clipped(until=at(0)).value == 1.0
    assert facts.clipped(after=at(0)).value == 0.0
