"""Decodes a recording from a phone or a browser to mono samples, or says in one sentence why it cannot."""

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

import numpy as np

from reeds.numbers.words import Refused, gettext_noop
from reeds.take.sound.signals import Samples, Waveform

if TYPE_CHECKING:
    from av.audio.frame import AudioFrame
    from av.audio.resampler import AudioResampler
    from av.container import InputContainer

LONGEST_S = 180.0
# what is decoded is brought down to this while it is read: nothing that is measured lies above 24 kHz
HIGHEST_HZ = 48_000
# what is refused by its header: own choice, wider than any phone or browser records
LOWEST_RATE_HZ, HIGHEST_RATE_HZ = 4_000, 192_000
MOST_CHANNELS = 7  # eight and more end PyAV's arrays in a crash
BEGINNINGS = {b"fLaC": "flac", b"OggS": "ogg", b"\x1a\x45\xdf\xa3": "matroska"}
NO_RECORDING = gettext_noop("This file cannot be read as a sound recording.")
NOT_A_PHONES = gettext_noop(
    "This recording was made in a way that no phone makes one: record it again with one or two microphones."
)
TOO_LONG = gettext_noop("This recording is longer than 3 minutes.")
SHORTEST_S = 0.2
LARGEST_BYTES = 25 * 1024 * 1024
_QUIETER_CHANNEL_DB = -20.0
_BLOCK = 1 << 18  # samples that are computed with at a time


class UnreadableTakeError(Refused):
    """A file that is no usable recording; its text is one sentence for people."""


def decode_take(source: str | Path | BinaryIO) -> Waveform:
    """Decode the first audio stream of a file (m4a, mp4, WebM, Ogg, MP3, WAV, FLAC, ...) to one channel.

    Of two channels the mean is taken; the louder one alone if the other is silent or in opposite phase.

    Parameters
    ----------
    source : path or seekable binary file
        At most 25 MB and 3 minutes.

    Raises
    ------
    UnreadableTakeError
        If it is empty, no audio, shorter than 0.2 s, longer than 3 minutes or larger than 25 MB, or holds
        samples that are no numbers.
    """
    _refuse_size(source)
    with contextlib.ExitStack() as closing:
        file = closing.enter_context(Path(source).open("rb")) if isinstance(source, (str, Path)) else source
        channels, rate, cut_short = _channels(file)
    if channels.shape[1] < SHORTEST_S * rate:
        raise UnreadableTakeError(gettext_noop("This recording is too short: it needs a fifth of a second."))
    if not np.isfinite(channels).all():
        raise UnreadableTakeError(
            gettext_noop("This file holds samples that are no numbers: record it again.")
        )
    return Waveform(_one_channel(channels), rate, cut_short, _is_clipped(channels))


def _refuse_size(source: str | Path | BinaryIO) -> None:
    size = _size_of(source)
    if size == 0:
        raise UnreadableTakeError(gettext_noop("This file is empty."))
    if size > LARGEST_BYTES:
        raise UnreadableTakeError(gettext_noop("This file is larger than 25 MB."))


def _size_of(source: str | Path | BinaryIO) -> int:
    if isinstance(source, (str, Path)):
        path = Path(source)
        if not path.is_file():
            raise UnreadableTakeError(gettext_noop("There is no such file."))
        return path.stat().st_size
    source.seek(0, 2)
    size = source.tell()
    source.seek(0)
    return size


def opened(source: BinaryIO) -> InputContainer:
    """Open a recording by what its first bytes say it is; nothing beside it is opened, whatever it names.

    Left to choose, FFmpeg would also take play lists and session descriptions, which open files and ports.

    Raises
    ------
    UnreadableTakeError
        If it is of none of the kinds that phones and browsers make.
    """
    import av

    source.seek(0)
    kind = _kind_of(source.read(16))
    source.seek(0)
    return av.open(source, mode="r", format=kind, options={"protocol_whitelist": "none"})


def _kind_of(head: bytes) -> str:
    """Return the demuxer for a file that begins like this."""
    if head[:4] == b"RIFF" and head[8:12] == b"WAVE":
        return "wav"
    if head[4:8] == b"ftyp":
        return "mov"
    if head[:3] == b"ID3":  # before MPEG audio it is the rule, before AAC the exception
        return "mp3"
    if len(head) > 1 and head[0] == 0xFF and head[1] & 0xE0 == 0xE0:
        return "aac" if head[1] & 0x06 == 0 else "mp3"  # layer 0 is AAC in ADTS (ISO/IEC 13818-7, 6.2)
    for begins, kind in BEGINNINGS.items():
        if head.startswith(begins):
            return kind
    raise UnreadableTakeError(NO_RECORDING)


def _channels(source: BinaryIO) -> tuple[Samples, int, bool]:
    import av

    try:
        with opened(source) as container:
            if not container.streams.audio:
                raise UnreadableTakeError(gettext_noop("There is no sound in this file."))
            return _read_stream(container)
    except UnreadableTakeError:
        raise
    except (av.FFmpegError, ValueError, OSError, AttributeError) as reason:  # a damaged header has no rate
        raise UnreadableTakeError(NO_RECORDING) from reason


def _read_stream(container: InputContainer) -> tuple[Samples, int, bool]:
    import av

    stream = container.streams.audio[0]
    _refuse_header(int(stream.rate), len(stream.layout.channels), container.duration)
    rate = min(int(stream.rate), HIGHEST_HZ)
    layout = "mono" if len(stream.layout.channels) == 1 else "stereo"
    folded = av.AudioResampler(format="fltp", layout=layout, rate=rate)
    filled = _Filled(1 if layout == "mono" else 2, int((LONGEST_S + 1.0) * rate))
    cut_short = _decode_into(filled, container, folded)
    if not filled.length:
        raise UnreadableTakeError(gettext_noop("There is no sound in this file."))
    return filled.samples, rate, cut_short


def _refuse_header(rate: int, channels: int, duration: int | None) -> None:
    """Refuse what no phone records, before any of it is decoded; `duration` in millionths of a second."""
    if duration is not None and duration / 1e6 > LONGEST_S + 1.0:
        raise UnreadableTakeError(TOO_LONG)
    if not LOWEST_RATE_HZ <= rate <= HIGHEST_RATE_HZ or not 1 <= channels <= MOST_CHANNELS:
        raise UnreadableTakeError(NOT_A_PHONES)


class _Filled:
    """Room for the longest take, filled as it is decoded: what is not filled takes no memory."""

    def __init__(self, channels: int, most: int) -> None:
        self._room = np.empty((channels, most), dtype=np.float32)
        self.length = 0

    def add(self, block: AudioFrame) -> None:
        until = self.length + block.samples
        if until > self._room.shape[1]:
            raise UnreadableTakeError(TOO_LONG)
        self._room[:, self.length : until] = block.to_ndarray()
        self.length = until

    @property
    def samples(self) -> Samples:
        return self._room[:, : self.length]


def _decode_into(filled: _Filled, container: InputContainer, folded: AudioResampler) -> bool:
    """Fill it; True if the file broke off on the way."""
    import av

    try:
        for frame in container.decode(audio=0):
            for block in folded.resample(frame):
                filled.add(block)
    except av.FFmpegError:
        if not filled.length:
            raise
        return True
    for block in folded.resample(None):
        filled.add(block)
    return False


def _one_channel(channels: Samples) -> Samples:
    """Return the mean of the loud channels, each without its offset; a block at a time in float64."""
    means = channels.mean(axis=1, dtype=np.float64, keepdims=True)
    blocks = [slice(at, at + _BLOCK) for at in range(0, channels.shape[1], _BLOCK)]
    squares = sum(((channels[:, part] - means) ** 2).sum(axis=1) for part in blocks)
    power = np.asarray(squares) / channels.shape[1]
    loud = np.flatnonzero(power >= power.max() * 10.0 ** (_QUIETER_CHANNEL_DB / 10.0))
    mean = np.empty(channels.shape[1], dtype=np.float32)
    kept = 0.0
    for part in blocks:
        block = (channels[loud, part] - means[loud]).mean(axis=0)
        kept += float((block**2).sum())
        mean[part] = block
    if kept / len(mean) < 0.25 * float(power.max()):  # they cancel each other
        loudest = int(power.argmax())
        for part in blocks:
            mean[part] = channels[loudest, part] - means[loudest]
    return mean


def _is_clipped(channels: Samples) -> bool:
    """Whether three samples in a row stand at one and the same extreme near full scale, several times."""
    for channel in channels:
        peak = float(max(channel.max(), -channel.min()))
        if peak < 0.5:
            continue
        at_peak = (channel >= peak * 0.999) | (channel <= -peak * 0.999)
        runs = at_peak[2:] & at_peak[1:-1] & at_peak[:-2]
        if peak >= 0.98 and int(runs.sum()) >= 3:
            return True
    return False
