"""Prints how long the drawn page of a whole studio's term takes and how large it is; of one student too.

`python -m tests.bench.term_page`: the term of `tests.bench.term`, 40 students, 1,000 reeds, 12,000 numbers;
the page asked for as a browser does, with sentences, pictures and links; no page and no picture is kept
from one to the next. The floor is fetching the same rows with .values_list() alone, timed in turn. By the
processor's clock, medians of 7. Bounds: 1.0 s and 300 KB compressed for the whole studio, for its tables,
which come when they are asked for, and for one student.
"""

import gzip
import sys

from tests.bench.term import fetched, in_a_database_of_its_own, median_times, told

SECONDS, KB = 1.0, 300.0


def measured():
    from django.test import Client

    from tests.big_term import big_term

    big = big_term()
    client = Client(headers={"host": "127.0.0.1"})
    client.force_login(big.teacher.person)
    pages = {
        "the whole studio": big.teacher.to("lessons:term") + "?whole=1",
        "its tables": big.teacher.to("lessons:term_reckoned"),
        "one student": big.teacher.to("lessons:term", big.students[0].pk),
    }
    floor, *taken = median_times(
        lambda: fetched(big), *[lambda path=path: client.get(path) for path in pages.values()]
    )
    missed = 0
    for (what, path), seconds in zip(pages.items(), taken, strict=True):
        answer = client.get(path)
        assert answer.status_code == 200, answer.status_code
        times = f"{seconds / floor:.1f} times its rows alone"
        missed += told(f"{what}, {times}, drawn in s", seconds, SECONDS)
        missed += told(f"{what}, KB compressed", len(gzip.compress(answer.content)) / 1000, KB, 0)
    return missed


def main():
    return int(in_a_database_of_its_own(measured) > 0)


if __name__ == "__main__":
    sys.exit(main())
