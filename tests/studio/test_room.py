"""What lies below the outermost call takes and gives back no memory, however deep it is."""

import resource
import sys

import pytest

from studio.room import roomy

# so many frames are more than one piece of 16 KB
CALLS, DEPTHS = 2_000, 200


def faults():
    return resource.getrusage(resource.RUSAGE_SELF).ru_minflt


def leaf(one, two, three):
    return one, two, three


def busy_at(depth):
    if depth:
        return busy_at(depth - 1)
    for _ in range(CALLS):
        leaf(1, 2, 3)
    return None


def at_worst(run):
    """Return how many pages of memory the dearest of all depths took."""
    taken = []
    for depth in range(DEPTHS):
        before = faults()
        run(depth)
        taken.append(faults() - before)
    return max(taken)


def test_no_depth_takes_memory_with_each_call():
    assert at_worst(roomy(busy_at)) < CALLS / 10


@pytest.mark.skipif(sys.version_info >= (3, 12), reason="seen on Python 3.11")
def test_without_room_there_is_a_depth_that_does():
    # if this fails, Python keeps what it mapped, and `studio/room.py` can go
    assert at_worst(busy_at) > CALLS / 2
