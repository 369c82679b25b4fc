"""Recordings that no phone makes: headers that lie, boxes in boxes, streams without end, lists of files."""

import math
import struct
import zlib

import numpy as np

from tests.torture.hostile.boxes import box, element, full, nested, part, riff
from tests.torture.hostile.whole import RECORDINGS, of_samples, wav

BILLION = 10**9


def _format(tag=1, channels=1, rate=44100, align=2, bits=16, more=b""):
    return part(
        b"fmt ", struct.pack("<HHIIHH", tag, channels, rate, rate * align & 0xFFFFFFFF, align, bits) + more
    )


def _wav(*chunks):
    return riff(b"WAVE", *chunks)


SECOND = part(b"data", bytes(88200))
TAGS = (
    2,
    3,
    6,
    7,
    0x11,
    0x31,
    0x45,
    0x50,
    0x55,
    0xFF,
    0x160,
    0x161,
    0x162,
    0x2000,
    0x2001,
    0xF1AC,
    0xFFFE,
    0xFFFF,
)


def _floats(values):
    data = np.resize(np.array(values, "<f4"), 44100).tobytes()
    return _wav(_format(3, align=4, bits=32), part(b"data", data))


WAV = {
    "65,535 channels": lambda: _wav(_format(channels=65535, align=65535), SECOND),
    "no channel": lambda: _wav(_format(channels=0, align=0), SECOND),
    "no rate": lambda: _wav(_format(rate=0), SECOND),
    "4,294,967,295 Hz": lambda: _wav(_format(rate=2**32 - 1), SECOND),
    "1 Hz": lambda: _wav(_format(rate=1), SECOND),
    "samples of no bit": lambda: _wav(_format(bits=0, align=0), SECOND),
    "samples of 65,535 bits": lambda: _wav(_format(bits=65535), SECOND),
    "4 GB by its header": lambda: _wav(_format(), b"data\xff\xff\xff\xff" + bytes(88200)),
    "a million parts": lambda: _wav(part(b"LIST", b"") * 1_000_000, _format(), SECOND),
    "two formats": lambda: _wav(
        _format(), part(b"data", bytes(44100)), _format(channels=7, align=14), SECOND
    ),
    "sound before its format": lambda: _wav(SECOND, _format()),
    "numbers that are none": lambda: _floats([math.nan, math.inf, -math.inf, 0.1]),
    "numbers beyond all": lambda: _floats([3e38, -3e38]),
    "numbers beneath all": lambda: _floats([1e-45, -1e-45]),
    "nothing but silence": lambda: wav(seconds=0.6).replace(b"data", b"data", 1)[:44] + bytes(52920),
    "all of it at one end": lambda: _wav(_format(), part(b"data", b"\xff\x7f" * 44100)),
    "RF64": lambda: (
        b"RF64\xff\xff\xff\xffWAVEds64"
        + struct.pack("<IQQQI", 28, 2**60, 2**60, 2**60, 0)
        + _format()
        + SECOND
    ),
    "a picture": lambda: _wav(_format(), part(b"id3 ", b"ID3\4\0\0\x7f\x7f\x7f\x7f" + bytes(5000)), SECOND),
    **{f"codec {tag:#x}": (lambda tag=tag: _wav(_format(tag), SECOND)) for tag in TAGS},
}


def _m4a(**given):
    return RECORDINGS["m4a"](**{"seconds": 0.6, **given})


def _patched(data, kind, offset, form, *values):
    """The same file with numbers written into the box of a kind, counted from its name."""
    out, place = bytearray(data), data.index(kind)
    struct.pack_into(form, out, place + offset, *values)
    return bytes(out)


BRAND = box(b"ftyp", b"M4A \0\0\0\0isomM4A ")


def _dref(url):
    """The boxes that say that the samples lie in another file."""
    return full(b"dref", struct.pack(">I", 1), full(b"url ", url.encode() + b"\0"))


def _instead(data, path, new):
    """The same boxes with the one at the end of a path replaced; those around it grow with it."""
    out, start = b"", 0
    while start + 8 <= len(data):
        size, kind = struct.unpack_from(">I4s", data, start)
        inside = data[start + 8 : start + size]
        if kind != path[0]:
            out += data[start : start + size]
        else:
            out += box(kind, _instead(inside, path[1:], new)) if len(path) > 1 else new
        start += size
    return out


def _elsewhere(url):
    return _instead(_m4a(), (b"moov", b"trak", b"mdia", b"minf", b"dinf", b"dref"), _dref(url))


def _compressed_moov():
    body = struct.pack(">I", 2**31 - 1) + zlib.compress(bytes(300_000_000), 9)
    return BRAND + box(b"moov", box(b"cmov", box(b"dcom", b"zlib"), box(b"cmvd", body)))


def _tracks(count):
    data = _m4a()
    place = data.index(b"moov") - 4
    (size,) = struct.unpack_from(">I", data, place)
    moov = data[place + 8 : place + size]
    track = moov.index(b"trak") - 4
    (length,) = struct.unpack_from(">I", moov, track)
    return data[:place] + box(b"moov", moov + moov[track : track + length] * count) + data[place + size :]


M4A = {
    "100,000 boxes in each other": lambda: BRAND + nested(b"moov", 100_000),
    "100,000 boxes of another kind": lambda: BRAND + nested(b"udta", 100_000),
    "a million boxes": lambda: BRAND + box(b"free") * 1_000_000,
    "2,000 tracks": lambda: _tracks(2000),
    "a billion samples": lambda: _patched(_m4a(), b"stsz", 8, ">II", 1, BILLION),
    "a billion times": lambda: _patched(_m4a(), b"stts", 8, ">I", BILLION),
    "a billion runs": lambda: _patched(_m4a(), b"stsc", 8, ">I", BILLION),
    "a billion samples a run": lambda: _patched(
        _patched(_m4a(), b"stsc", 16, ">I", BILLION), b"stsz", 8, ">II", 1, BILLION
    ),
    "a sample as long as a year": lambda: _patched(_m4a(), b"stts", 12, ">II", 1, 2**31),
    "samples that take less than nothing": lambda: _patched(_m4a(), b"stts", 16, ">i", -(2**31)),
    "no time": lambda: _patched(_m4a(), b"mdhd", 16, ">II", 0, 0),
    "as long as the world": lambda: _patched(_m4a(), b"mvhd", 16, ">II", 1, 2**32 - 1),
    "an edit before its beginning": lambda: _patched(_m4a(), b"elst", 16, ">i", -5),
    "a billion edits": lambda: _patched(_m4a(), b"elst", 8, ">I", BILLION),
    "a header that unpacks to 300 MB": _compressed_moov,
    "samples in another file": lambda: _elsewhere("file://{decoy}"),
    "samples on the net": lambda: _elsewhere("http://127.0.0.1:{port}/a"),
    "a box of no length": lambda: BRAND + b"\0\0\0\0moov" + bytes(1000),
    "a box of 2^63 bytes": lambda: BRAND + b"\0\0\0\1moov\x7f" + b"\xff" * 7 + bytes(1000),
}


def _audio(rate, channels):
    return element("E1", element("B5", struct.pack(">d", rate)) + element("9F", channels.to_bytes(8, "big")))


HEAD = element("1A45DFA3", element("4282", b"webm"))


def _track(*more, rate=48000.0, channels=1):
    fixed = (
        element("D7", b"\1") + element("73C5", b"\1") + element("83", b"\2") + element("86", b"A_PCM/INT/LIT")
    )
    return element("AE", fixed + _audio(rate, channels) + b"".join(more))


def _cluster(data, count=1):
    return element("1F43B675", element("E7", b"\0") + element("A3", b"\x81\0\0\x80" + data) * count)


def _webm(*parts):
    return HEAD + element("18538067", b"".join(parts))


def _tracks_of_webm(*tracks):
    return element("1654AE6B", b"".join(tracks))


def _info(duration):
    return element("1549A966", element("4489", struct.pack(">d", duration)))


def _many_in_each_other(number, depth):
    data = b""
    for _level in range(depth):
        data = element(number, data)
    return data


PACKED = zlib.compress(bytes(2_000_000), 9)
UNPACK = element("6D80", element("6240", element("5031", b"\0") + element("5034", element("4254", b"\0"))))
WEBM = {
    **{
        f"a rate of {rate}": (
            lambda rate=rate: _webm(_tracks_of_webm(_track(rate=rate)), _cluster(bytes(38400)))
        )
        for rate in (0.0, -48000.0, math.nan, math.inf, 1e308, 5e-324)
    },
    **{
        f"as long as {length}": (
            lambda length=length: _webm(_info(length), _tracks_of_webm(_track()), _cluster(bytes(38400)))
        )
        for length in (-1.0, math.nan, math.inf, 1e300)
    },
    "2^63 channels": lambda: _webm(_tracks_of_webm(_track(channels=2**63)), _cluster(bytes(38400))),
    "2,000 tracks": lambda: _webm(_tracks_of_webm(*[_track()] * 2000), _cluster(bytes(38400))),
    "parts in each other": lambda: _webm(_many_in_each_other("B6", 1000), _tracks_of_webm(_track())),
    "a million parts": lambda: _webm(element("EC", b"") * 1_000_000, _tracks_of_webm(_track())),
    "packets that unpack to 2 MB": lambda: _webm(_tracks_of_webm(_track(UNPACK)), _cluster(PACKED, 2000)),
    "a part of 2^56 bytes": lambda: HEAD + element("18538067", _tracks_of_webm(_track()), 2**56 - 2),
    "a part longer than all": lambda: _webm(element("EC", b"x", 2**40), _tracks_of_webm(_track())),
    "a codec's header of 10 MB": lambda: _webm(_tracks_of_webm(_track(element("63A2", bytes(10_000_000))))),
}


def _page(data, serial=1, flags=2, granule=0, number=0):
    segments = bytes([255] * (len(data) // 255) + [len(data) % 255])
    return (
        b"OggS\0" + struct.pack("<BqIIIB", flags, granule, serial, number, 0, len(segments)) + segments + data
    )


def _opus_head(channels=1, mapping=0, rate=48000):
    return b"OpusHead\1" + struct.pack("<BHIhB", channels, 0, rate, 0, mapping)


OGG = {
    "20,000 streams": lambda: b"".join(_page(_opus_head(), serial=n) for n in range(20_000)),
    "255 channels": lambda: _page(_opus_head(255, 255) + bytes(257)) + RECORDINGS["ogg"](seconds=0.6)[47:],
    "one recording after another": lambda: RECORDINGS["ogg"](seconds=0.3) * 500,
    "as long as the world": lambda: RECORDINGS["ogg"](seconds=0.6) + _page(b"\xf8\xff\xfe", 1, 4, 2**62, 9),
    "before its beginning": lambda: (
        RECORDINGS["ogg"](seconds=0.6) + _page(b"\xf8\xff\xfe", 1, 4, -(2**62), 9)
    ),
    "four thousand million comments": lambda: (
        _page(_opus_head()) + _page(b"OpusTags\0\0\0\0\xff\xff\xff\xff" + b"\xff\xff\xff\x7f" * 50, flags=0)
    ),
    "half a million empty pages": lambda: RECORDINGS["ogg"](seconds=0.6) + _page(b"", flags=0) * 500_000,
    "FLAC that is none": lambda: _page(b"\x7fFLAC\1\0\xff\xffFLAC" + bytes(38)),
    "a Vorbis without books": lambda: _page(
        b"\1vorbis" + struct.pack("<IBIiiiB", 0, 1, 48000, 0, 0, 0, 0xB8) + b"\1"
    ),
}


def _id3(data, size=None):
    size = len(data) if size is None else size
    stated = bytes(size >> shift & 127 for shift in (21, 14, 7, 0))
    return b"ID3\4\0\0" + stated + data


def _packed_frame():
    body = struct.pack(">I", 0x0FFFFFFF) + zlib.compress(bytes(200_000_000), 9)
    size = bytes(len(body) >> shift & 127 for shift in (21, 14, 7, 0))
    return _id3(b"APIC" + size + b"\0\x09" + body)


def _mp3():
    return RECORDINGS["mp3"](seconds=0.6)


MP3 = {
    "a title of 256 MB": lambda: _id3(b"TIT2", 2**28 - 1) + _mp3(),
    "10,000 titles": lambda: _id3(bytes(30)) * 10_000 + _mp3(),
    "a title that unpacks to 200 MB": lambda: _packed_frame() + _mp3(),
    "a play list behind its title": lambda: _id3(bytes(30)) + b"#EXTM3U\n#EXTINF:5,\nfile://{decoy}\n",
    "nothing but heads": lambda: b"\xff\xfb\x90\0" * 1_000_000,
    "a rate that changes with each part": lambda: b"".join(
        bytes([0xFF, 0xFB, 0x90 | rate << 2, 0]) + bytes(413) for rate in (0, 1, 2) for _n in range(200)
    ),
    "parts of no stated length": lambda: b"\xff\xfb\0\0" + bytes(400_000),
    "AAC of no length": lambda: b"\xff\xf1\x50\x80\0\0\0" * 300_000,
    "AAC of a rate that is none": lambda: b"\xff\xf1\x74\x80\x1f\xff\xfc" + bytes(200_000),
}


def _streaminfo(rate, channels=1, bits=16, samples=0, block=4096):
    packed = rate << 44 | (channels - 1) << 41 | (bits - 1) << 36 | samples
    return struct.pack(">HH", block, block) + bytes(6) + packed.to_bytes(8, "big") + bytes(16)


def _flac(*blocks):
    return b"fLaC" + b"".join(bytes([kind]) + len(data).to_bytes(3, "big") + data for kind, data in blocks)


def _silence(rate, seconds):
    return of_samples(np.zeros(int(rate * seconds), np.int16), "flac", "flac", rate)


def _noise(seconds):
    return np.random.default_rng(3).integers(-9000, 9000, int(seconds * 48000)).astype(np.int16)


def _clicks(seconds):
    """Twenty short notes a second."""
    t = np.arange(int(seconds * 48000)) / 48000
    return (np.sin(2 * np.pi * 442 * t) * 9000 * (t * 20 % 1 < 0.7)).astype(np.int16)


FLAC = {
    "655,350 Hz": lambda: _silence(655_350, 3.0),
    "no rate": lambda: _flac((0x80, _streaminfo(0))) + bytes(1000),
    "2^36 samples": lambda: _flac((0x80, _streaminfo(44100, samples=2**36 - 1))) + bytes(1000),
    "a million blocks": lambda: _flac((0, _streaminfo(44100)), *[(1, b"")] * 1_000_000),
    "a picture of 2^32 px": lambda: _flac(
        (0, _streaminfo(44100)), (0x86, struct.pack(">IIII", 3, 0, 0, 2**32 - 1) + b"\xff" * 16)
    ),
    "no block": lambda: _flac((1, b"")) + bytes(1000),
    "a million places": lambda: _flac((0, _streaminfo(44100)), (0x83, b"\xff" * 900_000)),
    "3 minutes of silence at 192 kHz": lambda: _silence(192_000, 179.0),
    "3 minutes of noise": lambda: of_samples(_noise(179.0), "flac", "flac", 48000),
    "3 minutes of short notes": lambda: of_samples(_clicks(179.0), "flac", "flac", 48000),
}
SDP = "v=0\no=- 0 0 IN IP4 127.0.0.1\ns=x\nc=IN IP4 127.0.0.1\nt=0 0\nm=audio {udp} RTP/AVP 0\n"
LISTS = {
    "session description": SDP,
    "list of parts": "ffconcat version 1.0\nfile '{decoy}'\n",
    "list of a stream": "#EXTM3U\n#EXT-X-TARGETDURATION:5\n#EXTINF:5,\n{decoy}\n#EXT-X-ENDLIST\n",
    "list of a stream on the net": "#EXTM3U\n#EXT-X-TARGETDURATION:5\n#EXTINF:5,\nhttp://127.0.0.1:{port}/a\n",
    "list of a stream with a key": '#EXTM3U\n#EXT-X-KEY:METHOD=AES-128,URI="file://{decoy}"\n#EXTINF:5,\na.ts\n',
    "manifest": "<MPD xmlns='urn:mpeg:dash:schema:mpd:2011'><BaseURL>{decoy}</BaseURL></MPD>",
    "play list": "[playlist]\nFile1={decoy}\n",
    "cue sheet": 'FILE "{decoy}" WAVE\n  TRACK 01 AUDIO\n    INDEX 01 00:00:00\n',
    "subtitles": "1\n00:00:00,000 --> 00:00:09,000\n<img src='{decoy}'>\n",
    "subtitles in the browser's way": "WEBVTT\n\n00:00.000 --> 00:09.000\nx\n",
    "subtitles with styles": "[Script Info]\nScriptType: v4.00+\n[Fonts]\nfontname: {decoy}\n",
    "RealMedia's list": "rtsp://127.0.0.1:{port}/a\n",
    "FFmpeg's own chapters": ";FFMETADATA1\n[CHAPTER]\nSTART=0\nEND=9\n",
    "Windows' list": "<asx version='3.0'><entry><ref href='http://127.0.0.1:{port}/a'/></entry></asx>",
    "script of frames": "AVISource('{decoy}')\n",
}


def _as_bytes(text):
    return lambda: text.encode()


def _after(begins, text):
    return lambda: begins + text.encode()


HIDDEN = {
    f"{name} behind the first bytes of {kind}": _after(begins, LISTS[name])
    for name in ("session description", "list of a stream", "list of parts")
    for kind, begins in {
        "m4a": b"\0\0\0\x14ftypM4A \0\0\0\0isom",
        "Ogg": b"OggS",
        "WebM": b"\x1a\x45\xdf\xa3",
        "FLAC": b"fLaC",
        "MP3": b"\xff\xfb",
        "AAC": b"\xff\xf1",
        "WAV": b"RIFF\xff\0\0\0WAVE",
    }.items()
}
OTHERS = {
    "MIDI": lambda: b"MThd\0\0\0\6\0\1\0\1\0\x60MTrk\0\0\0\4\0\xff\x2f\0",
    "AIFF": lambda: b"FORM\0\0\0\x2eAIFFCOMM\0\0\0\x12" + bytes(18),
    "AVI": lambda: b"RIFF\xff\0\0\0AVI LIST" + bytes(100),
    "MPEG transport": lambda: (b"\x47" + bytes(187)) * 1000,
    "a picture": lambda: b"\xff\xd8\xff\xe0\0\x10JFIF" + bytes(1000),
    "nothing but zeros": lambda: bytes(1_000_000),
    "one byte": lambda: b"f",
    "a zip": lambda: b"PK\3\4" + bytes(1000),
}
GROUPS = {
    "WAV": WAV,
    "m4a": M4A,
    "WebM": WEBM,
    "Ogg": OGG,
    "MP3": MP3,
    "FLAC": FLAC,
    "list": {name: _as_bytes(text) for name, text in LISTS.items()},
    "hidden": HIDDEN,
    "other": OTHERS,
}


def bombs(decoy="/etc/hostname", port=9, udp=10):
    """Return what makes each, by its name; some name a file, a port to call and one to listen on."""
    known = {b"{decoy}": decoy.encode(), b"{port}": b"%d" % port, b"{udp}": b"%d" % udp}

    def filled(make):
        def made():
            data = make()
            for name, value in known.items():
                data = data.replace(name, value)
            return data

        return made

    return {
        f"{group}: {name}": filled(make) for group, all_of in GROUPS.items() for name, make in all_of.items()
    }
