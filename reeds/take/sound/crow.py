"""The pitches that sound together when a reed crows, and whether two of them lie an octave apart."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from reeds.numbers.measured import Measured
from reeds.numbers.notes import cents_between, cents_from_note, nearest_note, note_name
from reeds.take.sound.coupled import Apart, octaves_of
from reeds.take.sound.heard import Crow, CrowPitch
from reeds.take.sound.signals import HOP_S, Floats, Segment, Tracks, cents_of

# all calibrated
_WINDOW_S = 0.37
_PITCH_HZ = (200.0, 2300.0)
# a voice under the usual C5: then a third one may lie two octaves over it
_UNDER_HZ = 330.0
_LINES_HZ = (190.0, 6000.0)
_AROUND_HZ, _OVER_NOISE_DB = 80.0, 9.0
_PITCH_BELOW_PEAK_DB = 32.0
_OTHER_BELOW_PEAK_DB = 15.0
_OCTAVE_CENTS = 60.0
_HARMONIC_CENTS = 12.0
# a voice moves for itself by this more than the first one's odd harmonics stray; for the octave that is told
# where it is so at three quarters and at one and a half times what they stray by
_OCTAVE_APART, _DOUBLE_APART, _UNTOLD_STRAYS = 0.06, 0.1, (0.75, 1.5)
# the window's own side lobes lie so near a line and so far below it
_LOBES_HZ, _LOBES_BELOW_DB = 11.0, 25.0
_STANDS_OUT_DB = 6.0
_SILENT_BELOW_DB, _HEARD_BELOW_DB, _ONE_OVER_DB, _UNTOLD_DB = 45.0, 40.0, 6.0, -99.0
_BEAT_GAP_S = 0.15
_MOST_PITCHES = 4
_NEAR_CENTS, _PARTS, _BIN_SHARE = 25.0, 4, 0.05

# of one crow the pitch may leap: its pieces touch, and it is long and steady where talk is neither
_TOUCHES_S, _STEADY_DB, _ENDS_SHARE, _AS_LONG_SHARE = 0.1, 10.0, 0.1, 0.5

Peak = tuple[float, float]


def crows_of(tracks: Tracks, segments: Sequence[Segment]) -> list[list[Segment]]:
    """Return the pieces of each crow: what sounds without a pause, and is no talk.

    The longest of those whose level keeps within 10 dB, and what is steady and at least half as long.
    """
    stretches: list[list[Segment]] = []
    for one in segments:
        if one.sounded and stretches and one.onset - stretches[-1][-1].end <= _TOUCHES_S / HOP_S:
            stretches[-1].append(one)
        elif one.sounded:
            stretches.append([one])
    steady = [one for one in stretches if _keeps_its_level(tracks, one)] or stretches
    longest = max((_frames_of(one) for one in steady), default=0)
    return [one for one in steady if _frames_of(one) >= _AS_LONG_SHARE * longest]


def _frames_of(pieces: list[Segment]) -> int:
    return pieces[-1].end - pieces[0].onset


def _keeps_its_level(tracks: Tracks, pieces: list[Segment]) -> bool:
    ends = int(_ENDS_SHARE * _frames_of(pieces))
    level = tracks.level_db[pieces[0].onset + ends : pieces[-1].end - ends]
    low, high = np.percentile(level, [10.0, 90.0])
    return bool(high - low < _STEADY_DB)


def crow_of(tracks: Tracks, segments: list[Segment], a4_hz: float) -> Crow:
    """Return the pitches of a crow from below, and whether two of them lie an octave apart.

    The lowest strong line of the mean spectrum is the first pitch. What moves for itself in the band an
    octave over it is a second one, and under C5's neighbours what does so two octaves over it a third. Where
    all of the octave moves with the first and yet the even harmonics stand out from the odd ones,
    `octave` is None: one rich tone or two that are locked to each other cannot be told. Strong lines that
    belong to none are pitches of their own. Common practice, no source.
    """
    peaks = _peaks(tracks, segments)
    if not peaks:
        return Crow()
    strongest = max(level for _, level in peaks)
    able = [
        p for p in peaks if _PITCH_HZ[0] <= p[0] <= _PITCH_HZ[1] and p[1] > strongest - _PITCH_BELOW_PEAK_DB
    ]
    if not able:
        return Crow()
    first = able[0][0]
    upper, octave = _octave_voices(tracks, segments, first, peaks)
    pitches = [first, *upper]
    pitches += _other_voices(pitches, able, strongest)
    if octave is False and len(pitches) > 1:
        octave = _any_octave(pitches)
    spectra = _spectra(tracks, segments)
    return Crow(tuple(_named(hz, a4_hz, _u_cents(hz, *spectra)) for hz in sorted(pitches)), octave)


def _named(hz: float, a4_hz: float, u_cents: float) -> CrowPitch:
    number = nearest_note(hz, a4_hz)
    return CrowPitch(hz, note_name(number), Measured(cents_from_note(hz, number, a4_hz), u_cents))


def _u_cents(hz: float, f: Floats, power: Floats) -> float:
    """How far the line lies from where parts of the crow have it, as the error of their mean."""
    near = np.abs(cents_of(f, hz)) < _NEAR_CENTS
    parts = [part.mean(axis=0)[near] for part in np.array_split(power, min(_PARTS, len(power)))]
    least = 1200.0 / np.log(2.0) * _BIN_SHARE * (f[1] - f[0]) / hz
    if len(parts) < 2:
        return float(3.0 * least)
    found = [float(np.sum(f[near] * part**2) / np.sum(part**2)) for part in parts]
    spread = 1200.0 / np.log(2.0) * np.std(found, ddof=1) / hz / np.sqrt(len(found))
    return float(np.hypot(spread, least))


def _peaks(tracks: Tracks, segments: list[Segment]) -> list[Peak]:
    """(hertz, dB) of the lines of the mean spectrum that stand 9 dB over what lies around them, upwards."""
    f, level = _mean_spectrum(tracks, segments)
    if not len(f):
        return []
    from scipy import ndimage, signal

    around = ndimage.median_filter(level, size=max(3, round(_AROUND_HZ / (f[1] - f[0])) | 1))
    tops, _ = signal.find_peaks(level, height=around + _OVER_NOISE_DB)
    return _lines_of([_interpolated(f, level, int(i)) for i in tops if _LINES_HZ[0] < f[i] < _LINES_HZ[1]])


def _lines_of(peaks: list[Peak]) -> list[Peak]:
    """The peaks without the side lobes of louder ones."""
    return [
        (hz, level)
        for hz, level in peaks
        if not any(
            abs(other - hz) < _LOBES_HZ and louder > level + _LOBES_BELOW_DB for other, louder in peaks
        )
    ]


def _mean_spectrum(tracks: Tracks, segments: list[Segment]) -> tuple[Floats, Floats]:
    f, power = _spectra(tracks, segments)
    if not len(f):
        return f, f
    level: Floats = 10.0 * np.log10(power.mean(axis=0) + 1e-20)
    return f, level


def _spectra(tracks: Tracks, segments: list[Segment]) -> tuple[Floats, Floats]:
    """Frequencies, and the power spectrum of each stretch of 0.37 s of what sounds."""
    size = round(_WINDOW_S * tracks.rate_hz)
    frames = []
    for start, end in _stretches(segments):
        part = _samples(tracks, start, end)
        if len(part) >= size:
            frames.append(np.lib.stride_tricks.sliding_window_view(part, size)[:: size // 3])
        elif len(part) >= size // 3:
            frames.append(np.pad(part, (0, size - len(part)))[None, :])
    if not frames:
        return np.zeros(0), np.zeros((0, 0))
    power = np.abs(np.fft.rfft(np.concatenate(frames) * np.hanning(size), 2 * size, axis=1)) ** 2
    f = np.fft.rfftfreq(2 * size, 1.0 / tracks.rate_hz)
    return f.astype(np.float64), power.astype(np.float64)


def _samples(tracks: Tracks, start: int, end: int) -> Floats:
    return tracks.samples[round(start * HOP_S * tracks.rate_hz) : round(end * HOP_S * tracks.rate_hz)]


def _stretches(segments: list[Segment]) -> list[tuple[int, int]]:
    """First frame and frame after the last of what sounds: beats may part one crow into many segments."""
    out: list[tuple[int, int]] = []
    for segment in segments:
        if out and segment.start - out[-1][1] < _BEAT_GAP_S / HOP_S:
            out[-1] = (out[-1][0], max(segment.end, out[-1][1]))
        else:
            out.append((segment.start, segment.end))
    return out


def _interpolated(f: Floats, level: Floats, i: int) -> Peak:
    below, here, above = level[i - 1 : i + 2]
    bend = below - 2.0 * here + above
    shift = 0.5 * (below - above) / bend if bend < 0 else 0.0
    return float(f[i] + shift * (f[1] - f[0])), float(here)


def _octave_voices(
    tracks: Tracks, segments: list[Segment], first: float, peaks: list[Peak]
) -> tuple[list[float], bool | None]:
    """The pitches one and two octaves over the first, and whether one an octave over it sounds."""
    parts = [_samples(tracks, *stretch) for stretch in _stretches(segments)]
    above = octaves_of(parts, tracks.rate_hz, first)
    if above is None:
        return [], None
    third = first < _UNDER_HZ and _voice(above.two, above.strays, 4.0 * first, _DOUBLE_APART)
    higher = [above.two.hz] if third else []
    told = {_voice(above.one, k * above.strays, 2.0 * first, _OCTAVE_APART) for k in _UNTOLD_STRAYS}
    if told == {True}:
        return [above.one.hz, *higher], True
    if told == {False} and _even_over_odd_db(first, peaks) < _STANDS_OUT_DB:
        return higher, False
    return [2.0 * first, *higher], None


def _voice(apart: Apart, strays: float, octave_hz: float, least: float) -> bool:
    """Whether a voice sounds there: what strays for the room's sake lies where the harmonic does."""
    off = abs(cents_between(apart.hz, octave_hz))
    return apart.share > least + (strays if off < _HARMONIC_CENTS else 0.0) and off < _OCTAVE_CENTS


def _even_over_odd_db(first: float, peaks: list[Peak]) -> float:
    """How far the 2nd, 4th and 6th harmonics stand over the mean of their odd neighbours, in dB."""
    top = max(level for _, level in peaks)
    level = [_level_at(k * first, peaks, top - _SILENT_BELOW_DB) for k in range(1, 8)]
    if max(level[2:]) <= top - _SILENT_BELOW_DB:
        return level[1] - level[0] + _ONE_OVER_DB
    heard = [k for k in (1, 3, 5) if level[k] > top - _HEARD_BELOW_DB]
    over_db = [level[k] - (level[k - 1] + level[k + 1]) / 2.0 for k in heard]
    return float(np.mean(over_db)) if over_db else _UNTOLD_DB


def _level_at(hz: float, peaks: list[Peak], silent_db: float) -> float:
    near = [level for f, level in peaks if abs(cents_between(f, hz)) < _NEAR_CENTS]
    return max(near, default=silent_db)


def _other_voices(pitches: list[float], able: list[Peak], strongest: float) -> list[float]:
    """Strong lines that are no harmonic of a pitch already found, from below."""
    found = list(pitches)
    for hz, level in able:
        if level > strongest - _OTHER_BELOW_PEAK_DB and not any(_is_harmonic(hz, base) for base in found):
            found.append(hz)
    return found[len(pitches) : _MOST_PITCHES]


def _is_harmonic(hz: float, base: float) -> bool:
    number = max(1, round(hz / base))
    return abs(cents_between(hz, number * base)) < max(_HARMONIC_CENTS, _OCTAVE_CENTS if number == 1 else 0.0)


def _any_octave(pitches: list[float]) -> bool:
    return any(
        abs(cents_between(upper, lower) - 1200.0) < _OCTAVE_CENTS for lower in pitches for upper in pitches
    )
