"""Prints how long a list of 20,000 reeds takes from its bytes to rows, and back, against one of half of it.

`python -m tests.bench.log [ROWS]`: twice the reeds at most 2.6 times the time of reading and of writing, and
at most 100 MB more in memory.
"""

import os
import random
import resource
import sys
import tempfile
import time

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")
HEADINGS = (
    "reed,made on,cane,shape,staple,staple length,tie length,overall length,gouge,airtight,scrape length,"
    "tip length,low notes,effort,notes"
)


def csv_of(rows):
    """A list of so many reeds, six numbers each, a playing test, and a note for every third."""
    rng = random.Random(1)  # noqa: S311  # numbers to look like a log
    lines = [
        f"{n},2025-{1 + n % 12:02}-{1 + n % 28:02},Bag {n % 7},narrow,brass,46,{rng.gauss(72, 0.5):.1f},"
        f"{rng.gauss(71, 0.5):.1f},0.58,yes,11.0,2.5,{1 + n % 5},3,{'' if n % 3 else 'fine'}"
        for n in range(1, rows + 1)
    ]
    return "\n".join([HEADINGS, *lines]).encode()


def megabytes():
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def timed(work):
    start = time.process_time()
    result = work()
    return result, time.process_time() - start


def one(rows):
    """Seconds of this process to read, to write and to take back a list of so many reeds."""
    from lessons.log.actions import keep, undo, write
    from tests import factories as make

    student = make.student()
    make.VersionFactory(pattern__studio=student.studio)
    upload = keep.Upload("log.csv", csv_of(rows), student.studio, student, student)
    log, reading = timed(lambda: keep.keep(upload))
    log, writing = timed(lambda: write.bring_in(log, write.Agreed()))
    _log, undoing = timed(lambda: undo.take_back(log))
    return reading, writing, undoing


def main(rows):
    with tempfile.TemporaryDirectory() as folder:
        os.environ["DATA_DIR"] = folder
        import django

        django.setup()
        from django.core.management import call_command

        call_command("migrate", verbosity=0)
        one(200)  # what is imported and prepared once
        half, before = one(rows // 2), megabytes()
        whole = one(rows)
        ratios = [b / a for a, b in zip(half[:2], whole[:2], strict=True)]
        grown = megabytes() - before
        kept = max(ratios) <= 2.6 and grown <= 100
        sys.stdout.write(
            f"a list of {rows} reeds: read in {whole[0]:.1f} s, written in {whole[1]:.1f} s, taken back in "
            f"{whole[2]:.1f} s (of the processor); of half of it {ratios[0]:.2f} and {ratios[1]:.2f} times "
            f"(bound 2.6), {grown:.0f} MB more (bound 100): {'met' if kept else 'NOT MET'}\n"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20_000)
