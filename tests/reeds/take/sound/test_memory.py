"""What a recording may be as long as is measured in the memory that a child has."""

import tracemalloc

import numpy as np

from reeds.take.sound.mean_pitch import _vibrato_hz

MEGABYTE = 1 << 20


def test_the_vibrato_of_a_long_tone_is_found_in_little_memory():
    """One array of rates by moments grew with the square of the tone: 280 MB here, 2.4 GB at 3 minutes."""
    t = np.arange(0.0, 60.0, 0.005)
    cents = 8.0 * np.sin(2 * np.pi * 5.5 * t) + 0.05 * t
    tracemalloc.start()
    found = _vibrato_hz(t, cents)
    _now, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert abs(found - 5.5) < 0.001
    assert peak < 20 * MEGABYTE
