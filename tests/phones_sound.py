"""Recordings as phones and browsers write them: of a plain tone, or of any WAV."""

from __future__ import annotations

import functools
import io

import av

from tests import factories as make

# Safari's MediaRecorder asked for a part each second: AAC, an empty index, then fragments
SAFARI = ("mp4", "aac", (("movflags", "empty_moov+default_base_moof"), ("frag_duration", "1000000")))
CHROMIUM = ("webm", "libopus", (("live", "1"),))


@functools.cache
def recorded(kind=SAFARI, seconds=2.0):
    """Return the bytes of a tone as this browser's recorder gives them."""
    muxer, codec, options = kind[0], kind[1], dict(kind[2])
    out = io.BytesIO()
    source = io.BytesIO(make.tone(seconds=seconds, rate=48_000))
    with av.open(source) as played, av.open(out, "w", format=muxer, options=options) as written:
        stream = written.add_stream(codec, rate=48_000, layout="mono")
        folded = av.AudioResampler(stream.format, "mono", 48_000, frame_size=stream.frame_size or 960)
        for frame in (*played.decode(audio=0), None):
            for block in folded.resample(frame):
                written.mux(stream.encode(block))
        written.mux(stream.encode(None))
    return out.getvalue()
