"""What the steps of the analysis hand to each other: a waveform, its tracks, the segments in them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from reeds.numbers.late import np

if TYPE_CHECKING:
    from numpy.typing import NDArray

HOP_S = 0.0025
FINE_STEP_S = 0.005
SILENCE_DB = -110.0
# an oboe's Bb3 is 233 Hz and its A6 1760 Hz, with room on both sides
LOWEST_HZ, HIGHEST_HZ = 190.0, 2100.0

Floats: TypeAlias = "NDArray[np.float64]"
# a take at its own rate: three minutes of it are kept in half the room
Samples: TypeAlias = "NDArray[np.float32]"
Bools: TypeAlias = "NDArray[np.bool_]"


@dataclass(frozen=True)
class Waveform:
    """A decoded recording.

    Attributes
    ----------
    samples : ndarray of float32, shape (n,)
        One channel, full scale -1 to 1, any constant offset removed.
    rate_hz : int
        Samples per second.
    cut_short : bool
        The file broke off before its end; what came before it is here.
    clipped : bool
        Some run of samples stands at full scale.
    """

    samples: Samples
    rate_hz: int
    cut_short: bool = False
    clipped: bool = False

    @property
    def duration_s(self) -> float:
        return len(self.samples) / self.rate_hz


@dataclass(frozen=True)
class Tracks:
    """Level and pitch of a recording, both on the instants `t_s`, every `HOP_S`.

    Attributes
    ----------
    samples : ndarray, shape (n,)
        The waveform without rumble and hum, at `rate_hz`.
    rate_hz : int
        16000, or the recording's own rate where that is lower.
    t_s : ndarray, shape (m,)
        Seconds.
    level_db : ndarray, shape (m,)
        Level over about 12 ms in dB re full scale; `SILENCE_DB` and up.
    fast_db : ndarray, shape (m,)
        The same over about 2.5 ms: for the instant at which a sound begins.
    hz : ndarray, shape (m,)
        Pitch by Praat's autocorrelation, `LOWEST_HZ` to `HIGHEST_HZ`; 0 where none is heard.
    strength : ndarray, shape (m,)
        How periodic the sound is there, 0 to 1.
    """

    samples: Floats
    rate_hz: int
    t_s: Floats
    level_db: Floats
    fast_db: Floats
    hz: Floats
    strength: Floats


@dataclass(frozen=True)
class Segment:
    """Frames of the tracks that belong to one blown note, or to one attempt that gave only air.

    Attributes
    ----------
    start, onset, end : int
        First frame with air, first frame with a tone (equal to `end` where there is none), and the frame
        after the last.
    """

    start: int
    onset: int
    end: int

    @property
    def sounded(self) -> bool:
        return self.onset < self.end


def cents_of(hz: Floats, reference_hz: float) -> Floats:
    """Return pitches in cents above a reference; no pitch (0 Hz) lies very far below.

    Parameters
    ----------
    hz : ndarray
        Pitches; what is below 1 Hz is taken as 1 Hz.
    reference_hz : float
        Above 0.
    """
    cents: Floats = 1200.0 * np.log2(np.maximum(hz, 1.0) / reference_hz)
    return cents


def excerpt(samples: Floats, first: int, count: int) -> Floats:
    """Return `count` samples from `first` on, which may be negative; zeros where there are none."""
    out = np.zeros(count)
    a, b = max(0, first), min(len(samples), first + count)
    if b > a:
        out[a - first : b - first] = samples[a:b]
    return out
