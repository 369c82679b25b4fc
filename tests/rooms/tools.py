"""The programs of Debian that the material is made with: FluidSynth with its font, and espeak-ng."""

from __future__ import annotations

import io
import os
import shutil
import subprocess
import wave
from pathlib import Path

import numpy as np
from scipy import signal

FONT = Path("/usr/share/sounds/sf2/FluidR3_GM.sf2")
PACKAGES = ("fluidsynth", "fluid-soundfont-gm", "espeak-ng")


def missing() -> list[str]:
    """What of it is not on this machine."""
    there = (shutil.which("fluidsynth"), FONT.exists(), shutil.which("espeak-ng"))
    return [package for package, found in zip(PACKAGES, there, strict=True) if not found]


def require() -> None:
    """Install what is missing where that is allowed; else say what to install."""
    if missing() and os.geteuid() == 0 and shutil.which("apt-get"):
        quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
        for words in (("update", "-qq"), ("install", "-y", "-qq", "--no-install-recommends", *missing())):
            subprocess.run(["apt-get", *words], env=quiet, check=False, capture_output=True)  # noqa: S603, S607
    if missing():
        raise SystemExit(f"Install first: apt-get install {' '.join(missing())}")


def said_by(program: str, *words: str) -> bytes:
    """What one of the programs writes to its standard output."""
    found = shutil.which(program)
    if found is None:
        raise FileNotFoundError(program)
    return subprocess.run([found, *words], check=True, capture_output=True).stdout  # noqa: S603 - our own words


def samples_of(wav: bytes, rate: int) -> np.ndarray:
    """One channel of a 16-bit WAV, at `rate`; one that came through a pipe does not know its own length."""
    with wave.open(io.BytesIO(wav)) as file:
        own, channels = file.getframerate(), file.getnchannels()
        raw = file.readframes(len(wav))
    x = np.frombuffer(raw[: len(raw) // 2 * 2], np.int16).reshape(-1, channels).mean(axis=1) / 32768.0
    common = int(np.gcd(own, rate))
    return x if own == rate else signal.resample_poly(x, rate // common, own // common)
