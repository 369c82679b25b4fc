"""Writes a recording again with its sound alone: no place, time, name or picture that a phone put in."""

from __future__ import annotations

import contextlib
import io
from dataclasses import dataclass
from typing import TYPE_CHECKING, BinaryIO

from reeds.take.sound.decode import opened
from reeds.take.sound.encode import as_flac, as_mp3
from reeds.take.sound.kinds import EVERYWHERE, FLAC, M4A, MP3, WAV, WEBM
from reeds.take.sound.signals import Waveform

if TYPE_CHECKING:
    from av.container import InputContainer


@dataclass(frozen=True)
class PlainCopy:
    """A file that holds one stream of sound and nothing else.

    Attributes
    ----------
    data : bytes
        The file.
    suffix : str
        What its name ends in, such as ``.m4a``.
    content_type : str
        Its media type; every one that occurs is in `kinds.CONTENT_TYPES`.
    """

    data: bytes
    suffix: str
    content_type: str


@dataclass(frozen=True)
class _Container:
    muxer: str
    suffix: str
    content_type: str


_M4A = _Container("ipod", ".m4a", M4A)
_WAV = _Container("wav", ".wav", WAV)
_FLAC = _Container("flac", ".flac", FLAC)
# by the codec within, not by what the file was called
_CONTAINERS = {
    "aac": _M4A,
    "alac": _M4A,
    "opus": _Container("webm", ".webm", WEBM),
    "vorbis": _Container("webm", ".webm", WEBM),
    "mp3": _Container("mp3", ".mp3", MP3),
    "flac": _FLAC,
    "pcm_s16le": _WAV,
    "pcm_s24le": _WAV,
    "pcm_u8": _WAV,
}


def plain_copy(source: BinaryIO, decoded: Waveform) -> PlainCopy:
    """Return the recording without anything but its sound.

    The sound is copied as it is where its codec has a container of the list above; else, and where the file
    is too damaged to be copied, what was decoded of it is written as FLAC.

    Parameters
    ----------
    source : seekable binary file
        The upload, which `decode_take` could read.
    decoded : Waveform
        What `decode_take` made of it.
    """
    import av

    with contextlib.suppress(av.FFmpegError, ValueError, OSError, KeyError), opened(source) as recording:
        container = _CONTAINERS.get(recording.streams.audio[0].codec_context.codec.canonical_name)
        if container is not None:
            return PlainCopy(_copied(recording, container), container.suffix, container.content_type)
    return PlainCopy(as_flac(decoded), _FLAC.suffix, _FLAC.content_type)


def mp3_beside(copy: PlainCopy, decoded: Waveform) -> bytes | None:
    """Return the same sound as MP3; None where every browser plays the copy as it is.

    Parameters
    ----------
    copy : PlainCopy
        Made by `plain_copy`.
    decoded : Waveform
        What it was made of.
    """
    return None if copy.content_type in EVERYWHERE else as_mp3(decoded)


def _copied(recording: InputContainer, container: _Container) -> bytes:
    import av

    out = io.BytesIO()
    stream = recording.streams.audio[0]
    with av.open(out, mode="w", format=container.muxer, options={"fflags": "+bitexact"}) as written:
        copy = written.add_stream_from_template(stream)
        copy.metadata.clear()
        written.metadata.clear()
        for packet in recording.demux(stream):
            if packet.dts is None:  # the empty packet at the end
                continue
            packet.stream = copy
            written.mux(packet)
    return out.getvalue()
