"""Prints how long a 60 s AAC take needs from the file to JSON, against its decoding and Praat's own pitch.

`python -m tests.bench.sound`: both timed in turn in one run, medians of 7; the bound is a ratio of 3. All
modules are imported and everything has run once before, as in a worker that has been up for a while.
"""

import io
import json
import statistics
import sys
import time

import numpy as np
import parselmouth

from reeds.take.sound.analysis import analyse
from reeds.take.sound.decode import decode_take
from reeds.take.sound.stored import heard_to_json
from tests.simulate_notes import sustained
from tests.simulate_sound import Room, as_file, record

SECONDS, BOUND = 60.0, 3.0


def timed(work):
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def take_of_a_minute():
    """Sustained notes for 60 s in a quiet room, as a phone writes them: AAC at 64 kbit/s."""
    rng = np.random.default_rng(601)
    blows = [blow for blow in sustained(rng, 45)[0] if blow.start + blow.length < SECONDS - 0.5]
    return as_file(record(blows, SECONDS, Room(), rng), "aac", "mp4", 64000).getvalue(), len(blows)


def main(rounds=7):
    file, count = take_of_a_minute()

    def alone():
        take = decode_take(io.BytesIO(file))
        parselmouth.Sound(take.samples, take.rate_hz).to_pitch_ac(pitch_floor=190, pitch_ceiling=2100)

    def whole():
        return json.dumps(heard_to_json(analyse(decode_take(io.BytesIO(file)), item="tuning")))

    found = len(json.loads(whole())["notes"])
    alone()
    pairs = [(timed(alone), timed(whole)) for _ in range(rounds)]
    least, ours = (statistics.median(p[i] for p in pairs) for i in (0, 1))
    ratio = ours / least
    sys.stdout.write(
        f"60 s AAC, {found} of {count} notes: decode and Praat's pitch {least * 1000:.0f} ms, "
        f"decode to JSON {ours * 1000:.0f} ms, ratio {ratio:.2f} (bound {BOUND:g}): "
        + ("met\n" if ratio <= BOUND else "NOT MET\n")
    )
    return int(ratio > BOUND)


if __name__ == "__main__":
    sys.exit(main())
