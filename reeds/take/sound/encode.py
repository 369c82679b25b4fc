"""Writes samples as a file of sound: FLAC, which loses nothing, and MP3, which every browser plays."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from reeds.take.sound.signals import Waveform

if TYPE_CHECKING:
    from av.audio.frame import AudioFrame

# which rates there are up to the highest that is decoded: ISO/IEC 11172-3, and 13818-3 for the lower three
MP3_RATES_HZ = (16_000, 22_050, 24_000, 32_000, 44_100, 48_000)
MP3_BITS_PER_S = 128_000  # of one channel: not less than browsers are asked to record with
_BLOCK = 4096


@dataclass(frozen=True)
class _Kind:
    muxer: str
    codec: Literal["flac", "mp3"]
    samples: str


_FLAC = _Kind("flac", "flac", "s16")
_MP3 = _Kind("mp3", "mp3", "s16p")


def as_flac(decoded: Waveform) -> bytes:
    """Return the samples as FLAC of 16 bits, at their own rate.

    Parameters
    ----------
    decoded : Waveform
        Full scale is 1; what lies beyond is cut off.
    """
    return _encoded(decoded, _FLAC, decoded.rate_hz)


def as_mp3(decoded: Waveform) -> bytes:
    """Return the samples as MP3 of one channel and 128 kbit/s, at the next rate up that MP3 knows.

    Parameters
    ----------
    decoded : Waveform
        Full scale is 1; what lies beyond is cut off. At most 48 kHz, as `decode_take` gives it.
    """
    return _encoded(decoded, _MP3, next(rate for rate in MP3_RATES_HZ if rate >= decoded.rate_hz))


def _encoded(decoded: Waveform, kind: _Kind, rate_hz: int) -> bytes:
    import av

    out = io.BytesIO()
    with av.open(out, mode="w", format=kind.muxer, options={"fflags": "+bitexact"}) as written:
        stream = written.add_stream(kind.codec, rate=rate_hz, layout="mono")
        stream.bit_rate = MP3_BITS_PER_S  # what loses nothing does not look at it
        folded = av.AudioResampler(kind.samples, "mono", rate_hz, frame_size=stream.frame_size or _BLOCK)
        for frame in _frames(decoded):
            for block in folded.resample(frame):
                written.mux(stream.encode(block))
        for block in folded.resample(None):
            written.mux(stream.encode(block))
        written.mux(stream.encode(None))
    return out.getvalue()


def _frames(decoded: Waveform) -> Iterator[AudioFrame]:
    """Yield the samples of 16 bits, a block at a time."""
    import av

    for start in range(0, len(decoded.samples), _BLOCK):
        block = np.clip(decoded.samples[start : start + _BLOCK], -1.0, 1.0)
        whole = np.round(block * 32767.0).astype(np.int16)
        frame = av.AudioFrame.from_ndarray(whole[np.newaxis], format="s16", layout="mono")
        frame.sample_rate, frame.pts = decoded.rate_hz, start
        yield frame
