"""Prints how long an export takes and how much memory, against reading its numbers from the database alone.

`python -m tests.bench.export`: a studio of 40 students, 1,000 reeds, 12,000 numbers, 200 photos of 1 MB, in a
database of its own. Time by the processor's clock, medians of 5, without photos; memory is the most that
Python held beyond what it held before. Bounds: 16 times the reading; 12 MB; 2.2 times the time and 1.6 times
the memory for twice the reeds; 4 MB more for the photos; as many queries for twice the reeds.
"""

import gc
import os
import statistics
import sys
import tempfile
import time
import tracemalloc

RATIO, MOST_MB, TWICE, TWICE_MB, PICTURES_MB = 16.0, 12.0, 2.2, 1.6, 4.0
MB = 1024 * 1024


def export(big, with_pictures=False):
    """Write the teacher's export of all of the studio to a file; return its size."""
    from django.utils import timezone

    from lessons.export.bundle import write_bundle
    from lessons.export.gathering.scope import Scope
    from lessons.export.tasks import contents

    with tempfile.TemporaryFile() as file:
        write_bundle(contents(), Scope(big.teacher, with_pictures=with_pictures), file, timezone.now())
        return file.tell()


def reading(big):
    """Read every column of the studio's numbers, and make nothing of them."""
    from reeds.reed.models.measurement import Measurement

    return list(Measurement.objects.visible_to(big.teacher).values_list())


def seconds(work, rounds=5):
    taken = []
    for _ in range(rounds):
        gc.collect()
        start = time.process_time()
        work()
        taken.append(time.process_time() - start)
    return statistics.median(taken)


def megabytes(work):
    """The most that Python held while it worked, beyond what it held before, MB."""
    gc.collect()
    tracemalloc.start()
    before = tracemalloc.get_traced_memory()[0]
    work()
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return (most - before) / MB


def add_photos(big, count=200):
    """Photos of a megabyte that no compression makes smaller."""
    from django.core.files.base import ContentFile

    from reeds.photo.models.photo import Photo
    from reeds.reed.models.reed import Reed

    reed = Reed.objects.visible_to(big.teacher).first()
    for _ in range(count):
        photo = Photo(studio=reed.studio, reed=reed, state="ready")
        photo.upright.save("upright.jpg", ContentFile(os.urandom(MB)), save=False)
        photo.save()


def told(words, value, bound, digits=2):
    met = value <= bound
    sys.stdout.write(f"{words}: {value:.{digits}f} (bound {bound:g}): {'met' if met else 'NOT MET'}\n")
    return not met


def measured():
    from tests.bench.term import queries_of
    from tests.big_term import big_term

    one, two = big_term(), big_term(reeds_each=50)
    size = export(one)  # and once to warm up
    read, taken = seconds(lambda: reading(one)), seconds(lambda: export(one))
    twice = seconds(lambda: export(two))
    sys.stdout.write(
        f"1,000 reeds: numbers read {read:.2f} s, exported {taken:.2f} s, {size / MB:.1f} MB of file\n"
    )
    missed = told("export / reading its numbers", taken / read, RATIO)
    missed += told("twice the reeds", twice / taken, TWICE)
    once_mb, twice_mb = megabytes(lambda: export(one)), megabytes(lambda: export(two))
    missed += told("memory, MB", once_mb, MOST_MB, 1) + told("twice the reeds", twice_mb / once_mb, TWICE_MB)
    few, many = queries_of(lambda: export(one)), queries_of(lambda: export(two))
    missed += told("queries", many, few, 0)
    add_photos(one)
    sys.stdout.write(f"with 200 photos: {export(one, with_pictures=True) / MB:.0f} MB of file\n")
    more = megabytes(lambda: export(one, with_pictures=True)) - once_mb
    return missed + told("memory more, MB", more, PICTURES_MB, 1)


def main():
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"DATA_DIR": folder, "DJANGO_SETTINGS_MODULE": "studio.settings"}
        os.environ.pop("DATABASE_URL", None)
        import django
        from django.core.management import call_command
        from django.db import connection

        django.setup()
        call_command("migrate", verbosity=0)
        missed = measured()
        connection.close()
    return int(missed > 0)


if __name__ == "__main__":
    sys.exit(main())
