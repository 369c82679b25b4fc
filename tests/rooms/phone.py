"""What a phone makes of what reaches its microphone: band, rate, gain, and the bytes of a file."""

from __future__ import annotations

import io
from dataclasses import dataclass

import av
import numpy as np
from scipy import signal
from scipy.io import wavfile

from tests.rooms.reed import RATE

CODECS = {"wav": "", "aac": "mp4", "libopus": "webm"}


@dataclass(frozen=True)
class Phone:
    """Samples a second of the file, its codec, bits a second, and the band that gets through."""

    rate: int = 44100
    codec: str = "wav"
    bit_rate: int = 64000
    band_hz: tuple[float, float] = (40.0, 20000.0)


PHONES = (Phone(), Phone(), Phone(48000, "aac"), Phone(48000, "libopus", 48000), Phone(16000))
TELEPHONE = Phone(16000, band_hz=(300.0, 3400.0))


def through(x: np.ndarray, phone: Phone) -> np.ndarray:
    """x, given at 48000, as the microphone hands it on."""
    high = min(phone.band_hz[1], 0.45 * phone.rate)
    band = signal.butter(4, (phone.band_hz[0], high), "bandpass", fs=RATE, output="sos")
    # forwards and backwards, so that nothing comes later than the truth says
    passed = signal.sosfiltfilt(band, x)
    common = int(np.gcd(phone.rate, RATE))
    return signal.resample_poly(passed, phone.rate // common, RATE // common)


def file_of(samples: np.ndarray, rate: int, codec: str = "wav", bit_rate: int = 64000) -> io.BytesIO:
    """A file of the samples, as it is sent."""
    if codec != "wav":
        return _encoded(samples, rate, codec, bit_rate)
    out = io.BytesIO()
    wavfile.write(out, rate, np.round(np.clip(samples, -1.0, 1.0) * 32767.0).astype(np.int16))
    out.seek(0)
    return out


def float_file(samples: np.ndarray, rate: int) -> io.BytesIO:
    """A WAV of 32-bit floats, which can hold what is no number."""
    out = io.BytesIO()
    wavfile.write(out, rate, samples.astype(np.float32))
    out.seek(0)
    return out


def _encoded(samples: np.ndarray, rate: int, codec: str, bit_rate: int) -> io.BytesIO:
    out = io.BytesIO()
    with av.open(out, "w", format=CODECS[codec]) as file:
        stream = file.add_stream(codec, rate=rate, layout="mono", bit_rate=bit_rate)
        whole = av.AudioFrame.from_ndarray(
            np.clip(samples, -1.0, 1.0).astype(np.float32)[None, :], format="fltp", layout="mono"
        )
        whole.sample_rate = rate
        whole.pts = 0
        size = stream.codec_context.frame_size or 960
        cutter = av.AudioResampler(format=stream.format, layout="mono", rate=rate, frame_size=size)
        for given in (whole, None):
            for frame in cutter.resample(given):
                file.mux(stream.encode(frame))
        file.mux(stream.encode(None))
    out.seek(0)
    return out
