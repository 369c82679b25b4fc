"""Prints how long what a blank foretells takes, of 40 students with 1,000 reeds and 12,000 numbers.

`python -m tests.bench.foretelling`: all that its page shows, the template left out, by the processor's clock.
Every third reed is given up where it was scraped, half of those after a short rest: there is much to say.
Bounds: 12 queries, one second.
"""

import datetime as dt
import os
import sys
import tempfile

from tests.bench.term import median_times, queries_of, told

QUERIES, SECONDS = 12, 1.0


def gathered(teacher):
    """Ask for all that the page shows."""
    from lessons.foretelling.pages import ForetellingPage

    page = ForetellingPage(teacher)
    return [
        (one.rows, one.held, one.played, [(row.ups, row.downs, row.unknown) for row in one.rows])
        for one in (page.blanks, page.tried)
    ]


def decided_by_rest(term):
    """Give every third reed up where it was scraped, half of them the day after they were tied."""
    from reeds.reed.models.reed import Reed, ReedEvent

    reeds = Reed.objects.filter(studio=term.studio_id, stage__in=("playing", "played_out"))
    lost = [reed.pk for reed in reeds if reed.number % 3 == 0]
    reeds.filter(pk__in=lost).update(stage="given_up")
    steps = ReedEvent.objects.filter(reed__in=lost)
    steps.filter(to_stage__in=("playing", "played_out")).delete()
    steps.filter(kind="played").delete()
    for step in steps.filter(to_stage="tied", reed__number__in=range(0, 100, 6)):
        ReedEvent.objects.filter(reed=step.reed_id, to_stage="scraped").update(
            at=step.at + dt.timedelta(days=1)
        )


def measured():
    from lessons.foretelling.pages import ForetellingPage
    from tests.big_term import big_term

    big = big_term()
    decided_by_rest(big.term)
    page = ForetellingPage(big.teacher)
    told_of = page.blanks.told
    sys.stdout.write(f"{told_of.n} outcomes, {len(page.blanks.rows)} blanks: {told_of.verdict.value}\n")
    missed = told("queries", queries_of(lambda: gathered(big.teacher)), QUERIES, 0)
    (took,) = median_times(lambda: gathered(big.teacher))
    return missed + told("seconds", took, SECONDS)


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
