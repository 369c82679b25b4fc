"""Recordings and pictures as phones and browsers make them, of every kind that is taken."""

import io
import wave
from functools import cache

import av
import numpy as np
import pillow_heif
from PIL import Image

pillow_heif.register_heif_opener()


def wav(channels=1, seconds=1.0, rate=44100, hz=442.0):
    t = np.arange(int(seconds * rate)) / rate
    tone = sum(np.sin(2 * np.pi * hz * k * t) / k for k in range(1, 8)) * 0.2
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(channels)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes(np.repeat((tone * 20000).astype("<i2"), channels).tobytes())
    return out.getvalue()


def encoded(codec, container, rate=48000, seconds=1.0, loud=8000):
    t = np.arange(int(rate * seconds)) / rate
    return of_samples((np.sin(2 * np.pi * 442 * t) * loud).astype(np.int16), codec, container, rate)


def of_samples(samples, codec, container, rate):
    """Return samples of 16 bits as a file."""
    out = io.BytesIO()
    with av.open(out, "w", format=container) as file:
        stream = file.add_stream(codec, rate=rate, layout="mono")
        resampler = av.AudioResampler(format=stream.format, layout="mono", rate=rate)
        frame = av.AudioFrame.from_ndarray(samples[None], format="s16", layout="mono")
        frame.sample_rate = rate
        for part in (*resampler.resample(frame), *resampler.resample(None)):
            file.mux(stream.encode(part))
        file.mux(stream.encode(None))
    return out.getvalue()


RECORDINGS = {
    "wav": lambda **given: wav(**given),
    "flac": lambda **given: encoded("flac", "flac", **given),
    "ogg": lambda **given: encoded("libopus", "ogg", **given),
    "webm": lambda **given: encoded("libopus", "webm", **given),
    "mp3": lambda **given: encoded("libmp3lame", "mp3", **given),
    "m4a": lambda **given: encoded("aac", "ipod", **given),
    "aac": lambda **given: encoded("aac", "adts", **given),
}


@cache
def scene(width=260, height=220):
    """A picture with edges, colours and grain: what a photo of something on a table has."""
    rng = np.random.default_rng(width * height)
    y, x = np.mgrid[0:height, 0:width]
    grain = rng.normal(0, 6, (height, width, 3))
    body = np.where(np.abs(x - width / 2 - y / 9) < 20, 190, 70)[..., None] + np.array([20, 0, -30])
    light = (x / width * 60)[..., None]
    return Image.fromarray((body + light + grain).clip(0, 255).astype(np.uint8))


def saved(image, format, **options):
    out = io.BytesIO()
    image.save(out, format, **options)
    return out.getvalue()


def _exif():
    told = Image.Exif()
    told[274], told[271] = 6, "a maker"
    told.get_ifd(0x8769)[36867] = "2026:03:02 15:00:00"
    return told


PICTURES = {
    "jpeg": lambda: saved(scene(), "JPEG", quality=85, exif=_exif()),
    "progressive": lambda: saved(scene(), "JPEG", quality=85, progressive=True),
    "png": lambda: saved(scene(), "PNG"),
    "webp": lambda: saved(scene(), "WEBP", quality=80, exif=_exif()),
    "lossless webp": lambda: saved(scene(), "WEBP", lossless=True, method=0),
    "heic": lambda: saved(scene(), "HEIF", quality=70, exif=_exif()),
    "avif": lambda: saved(scene(), "AVIF", quality=60, speed=10),
}
