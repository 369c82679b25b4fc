"""Which part of a band moves with a voice already found, and which for itself.

The harmonics of one voice keep their phases to each other however it wavers. A second voice does not, be it
the octave to a hair: against the first one's harmonics its phase drifts within a second. So the octave's
band is told apart where the lines of a spectrum fall together. Bicoherence asks the same of spectra: Kim and
Powers, Digital bispectral analysis, IEEE Transactions on Plasma Science 7, 1979 (from memory).

A room answers each harmonic in its own way and some time later, so that even those of one voice stray from
each other: what came a little before is taken for the voice's own too, and how far its odd harmonics stray,
in which no octave sounds, says how far the even ones may.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import signal

from reeds.take.sound.phase import Complexes
from reeds.take.sound.signals import Floats

# all calibrated; shares of the first voice's frequency, and hertz
_FOLLOWED, _LEAST_FOLLOWED_HZ = 0.06, 15.0
_BAND, _LEAST_BAND_HZ = 0.25, 25.0
_FOLLOWED_OVER_NOISE = 10.0
_ROOM_S = (0.0, 0.03, 0.08)
_ODD = (3, 5)
_GRID_HZ = 0.02


@dataclass(frozen=True)
class Apart:
    """What of a band moves for itself.

    Attributes
    ----------
    share : float
        Of the band's power, about 0 to 1.
    hz : float
        Where it sounds.
    """

    share: float
    hz: float


@dataclass(frozen=True)
class Octaves:
    """What moves for itself one and two octaves over a voice.

    Attributes
    ----------
    one, two : Apart
        In the band around twice and four times the voice's frequency.
    strays : float
        The same of the third or the fifth harmonic, the lesser: the room's doing and the noise's.
    """

    one: Apart
    two: Apart
    strays: float


@dataclass(frozen=True)
class _Bands:
    """One stretch of sound, its bands turned down to near 0 Hz, `rate_hz` times a second.

    `first` is the voice's turning, in unit length; `at` the bands by harmonic, `beside` the power a band has
    next to each, where no harmonic lies.
    """

    first: Complexes
    at: dict[int, Complexes]
    beside: dict[int, float]
    follows: bool
    rate_hz: float


@dataclass(frozen=True)
class _Rests:
    """What is left of the bands of one stretch."""

    octave: Complexes
    octave_in_room: Complexes
    double: Complexes
    odd: tuple[Complexes, ...]


def octaves_of(stretches: Sequence[Floats], rate_hz: int, first_hz: float) -> Octaves | None:
    """Return what moves for itself one and two octaves over a voice; None where it is too faint to follow.

    Parameters
    ----------
    stretches : sequence of ndarray
        Samples of what sounds, one array a stretch; those under a quarter of a second are left out.
    rate_hz : int
        Samples per second; over eleven times `first_hz`.
    first_hz : float
        The voice's frequency to within 1 %.
    """
    bands = [one for one in (_bands(part, rate_hz, first_hz) for part in stretches) if one is not None]
    if not bands or not any(one.follows for one in bands):
        return None
    rests, at_hz = [_rests(one) for one in bands], bands[0].rate_hz
    odd = (_share([rest.odd[i] for rest in rests], bands, k) for i, k in enumerate(_ODD))
    return Octaves(
        Apart(
            _share([rest.octave_in_room for rest in rests], bands, 2),
            2.0 * first_hz + _line_hz([rest.octave for rest in rests], at_hz),
        ),
        Apart(
            _share([rest.double for rest in rests], bands, 4),
            4.0 * first_hz + _line_hz([rest.double for rest in rests], at_hz),
        ),
        min(odd),
    )


def _share(left: Sequence[Complexes], bands: Sequence[_Bands], harmonic: int) -> float:
    """Of a harmonic's band, what is left and is more than what hisses beside it."""
    over = sum(map(_power, left)) - sum(one.beside[harmonic] for one in bands)
    return max(0.0, over) / max(sum(_power(one.at[harmonic]) for one in bands), 1e-30)


def _bands(samples: Floats, rate_hz: int, hz: float) -> _Bands | None:
    """None where the stretch is too short to follow a voice in it."""
    followed, band = max(_LEAST_FOLLOWED_HZ, _FOLLOWED * hz), max(_LEAST_BAND_HZ, _BAND * hz)
    edge, step = round(rate_hz / followed), max(1, int(rate_hz / (3.0 * band)))
    if len(samples) < 4 * edge:
        return None

    def at(times: float, width: float) -> Complexes:
        return _turned_down(samples, rate_hz, times * hz, width)[edge:-edge:step]

    first, between = at(1.0, followed), [_power(at(k + 0.5, band)) for k in range(1, 6)]
    beside = {k: min(between[k - 2 : k]) for k in range(2, 6)}
    return _Bands(
        _unit(first),
        {times: at(times, band) for times in (2, 4, *_ODD)},
        beside,
        _power(first) > _FOLLOWED_OVER_NOISE * beside[2] * followed / band,
        rate_hz / step,
    )


def _turned_down(samples: Floats, rate_hz: int, hz: float, width_hz: float) -> Complexes:
    """What lies within `width_hz` of `hz`, turned down to 0 Hz, under a raised cosine."""
    half = int(rate_hz / width_hz)
    window = np.hanning(2 * half + 1)
    turn = np.exp(-2j * np.pi * hz / rate_hz * np.arange(len(samples)))
    out: Complexes = signal.fftconvolve(samples * turn, window / window.sum(), mode="same")
    return out


def _rests(bands: _Bands) -> _Rests:
    """What no voice found so far explains of each band.

    The second voice's own harmonic lies in the double octave too: its turning is that of what was left of
    the octave, or of all of it where it is the louder one there.
    """

    def in_room(turning: Complexes) -> list[Complexes]:
        return [_later(turning, round(s * bands.rate_hz)) for s in _ROOM_S]

    first, octave = bands.first, bands.at[2]
    alone = _rest(octave, [first**2])
    second, louder = _unit(alone), _unit(octave)
    known = [*in_room(first**4), *in_room(second**2), *in_room(louder**2), first**2 * second]
    return _Rests(
        alone,
        _rest(octave, in_room(first**2)),
        _rest(bands.at[4], known),
        tuple(_rest(bands.at[k], in_room(first**k)) for k in _ODD),
    )


def _later(turning: Complexes, count: int) -> Complexes:
    """The same so many steps later; before it began, as it began."""
    return np.concatenate([np.repeat(turning[:1], count), turning[: len(turning) - count]])


def _rest(band: Complexes, moving: Sequence[Complexes]) -> Complexes:
    columns = np.stack(moving, axis=1)
    amounts, *_ = np.linalg.lstsq(columns, band, rcond=None)
    left: Complexes = band - columns @ amounts
    return left


def _unit(band: Complexes) -> Complexes:
    out: Complexes = band / np.maximum(np.abs(band), 1e-30)
    return out


def _power(band: Complexes) -> float:
    return float(np.sum(np.abs(band) ** 2))


def _line_hz(rests: Sequence[Complexes], rate_hz: float) -> float:
    """Where the strongest line of what is left lies, in hertz from the middle of the band."""
    size = 1 << int(np.ceil(np.log2(rate_hz / _GRID_HZ)))
    power = sum(np.abs(np.fft.fft(one * np.hanning(len(one)), size)) ** 2 for one in rests)
    return float(np.fft.fftfreq(size, 1.0 / rate_hz)[int(np.argmax(power))])
