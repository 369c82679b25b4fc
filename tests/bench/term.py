"""Prints how long a term's figures take, against fetching the same rows with .values_list() alone.

`python -m tests.bench.term`: a term of 40 students, 1,000 reeds, 12,000 numbers in a database of its own.
Figures are all that TermFigures and the sentences give, no drawing; nothing reckoned before is kept.
Both are timed in turn in one run, by the processor's clock since others may work beside it; medians of 7.
Bounds: 12 queries; 6 times the fetching; twice the reeds 2.2 times the figures; with three more studios 1.2.
"""

import gc
import os
import statistics
import sys
import tempfile
import time

QUERIES, RATIO, TWICE, OTHERS = 12, 6.0, 2.2, 1.2


def timed(work):
    gc.collect()
    start = time.process_time()
    work()
    return time.process_time() - start


def fetched(big):
    """Fetch what the figures are made of, and make nothing of it."""
    from lessons.term.fetched import Fetched

    rows = Fetched(big.term, big.teacher)
    return [
        list(getattr(rows, kind)())
        for kind in ("reeds", "steps", "played", "numbers", "words", "ratings", "rounds", "work")
    ]


def figures(big):
    """Reckon every figure of the term: whatever TermFigures, its quantities and its sentences give."""
    from lessons.term.lookback.rates import share
    from lessons.term.pages import QuantityInTerm, TermFigures
    from lessons.term.said import told as sentences

    share.cache_clear()
    it = TermFigures(big.term, big.teacher)
    told = {name: getattr(it, name) for name in given(TermFigures)}
    of_each = [[getattr(row, name) for name in given(QuantityInTerm)] for row in it.quantities]
    return told, of_each, sentences(it.rows, big.students)


def given(kind):
    """The names of what a class gives when asked."""
    from functools import cached_property

    return [
        name
        for name, what in vars(kind).items()
        if isinstance(what, property | cached_property) and not name.startswith("_")
    ]


def same_work():
    """Sort a little: as long whatever lies in the database."""
    sorted(range(400_000), key=lambda k: -k % 977)


def median_times(*works, rounds=7):
    """Each once to warm up, then all in turn."""
    for work in works:
        work()
    taken = [[timed(work) for work in works] for _ in range(rounds)]
    return [statistics.median(column) for column in zip(*taken, strict=True)]


def queries_of(work):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    with CaptureQueriesContext(connection) as seen:
        work()
    return len(seen)


def told(words, value, bound, digits=2):
    met = value <= bound
    sys.stdout.write(f"{words}: {value:.{digits}f} (bound {bound:g}): {'met' if met else 'NOT MET'}\n")
    return not met


def measured():
    from tests.big_term import big_term

    one = big_term()
    queries = queries_of(lambda: figures(one))
    fetch, ours = median_times(lambda: fetched(one), lambda: figures(one))
    sys.stdout.write(f"1,000 reeds: rows alone {fetch * 1000:.0f} ms, figures {ours * 1000:.0f} ms\n")
    missed = told("queries", queries, QUERIES, 0) + told("figures / rows alone", ours / fetch, RATIO)
    two = big_term(reeds_each=50)
    once, twice = median_times(lambda: figures(one), lambda: figures(two))
    missed += told("twice the reeds", twice / once, TWICE)
    # these two cannot be timed in turn: each is told in a piece of work that no database has a part in
    alone, work = median_times(lambda: figures(one), same_work)
    for _ in range(3):
        big_term()
    beside, again = median_times(lambda: figures(one), same_work)
    return missed + told("with three more studios", (beside / again) / (alone / work), OTHERS)


def in_a_database_of_its_own(measured, address=None):
    """Set Django up on an empty database, measure there, and return how many bounds were missed.

    `address` is that of a server's database; without it one is made in a file.
    """
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"DATA_DIR": folder, "DJANGO_SETTINGS_MODULE": "studio.settings"}
        os.environ.pop("DATABASE_URL", None)
        os.environ |= {"DATABASE_URL": address} if address else {}
        import django
        from django.core.management import call_command
        from django.db import connection

        django.setup()
        call_command("migrate", verbosity=0)
        missed = measured()
        connection.close()
    return missed


def main():
    return int(in_a_database_of_its_own(measured) > 0)


if __name__ == "__main__":
    sys.exit(main())
