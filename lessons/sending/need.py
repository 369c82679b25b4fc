"""The order of need: one score made of what the checks found, the days waited and the next lesson.

One table each for what is added; SQL reads them to sort, the page reads the same rows to say why.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable
from typing import Protocol

from django.db.models import Case, F, IntegerField, Value, When
from django.db.models.expressions import Combinable
from django.db.models.functions import Least
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from reeds.checks.findings import FAULTS, Finding, Outcome

DAY = dt.timedelta(days=1)
# own choice, no source: a reed with many findings must not bury one that has waited for two weeks
MOST_FOUND = 20
# waited at least so many days -> so much; the student of a lesson within so many days -> so much
WAITED = ((14, 20), (10, 14), (7, 10), (5, 7), (3, 4), (2, 2), (1, 1))
LESSON = ((1, 8), (2, 6), (4, 3), (7, 1))


class Waiting(Protocol):
    """What is read of a round that waits."""

    @property
    def sent_at(self) -> dt.datetime | None: ...
    @property
    def found(self) -> list[Finding]: ...


def score(now: dt.datetime) -> Combinable:
    """Return the score as SQL; the rows carry `next_lesson`."""
    waited = [When(sent_at__lte=now - days * DAY, then=Value(more)) for days, more in WAITED]
    near = [When(next_lesson__lte=now + days * DAY, then=Value(more)) for days, more in LESSON]
    whole = IntegerField()
    return (
        Least(F("need"), Value(MOST_FOUND))
        + Case(*waited, default=Value(0), output_field=whole)
        + Case(*near, default=Value(0), output_field=whole)
    )


def reasons(waiting: Waiting, now: dt.datetime) -> list[str]:
    """Say in plain words why a round stands where it stands; the row carries `next_lesson`."""
    return [*_found(waiting.found), *_waited(waiting, now), *_lesson(waiting, now)]


def _found(findings: Iterable[Finding]) -> list[str]:
    counts = Counter(_sort(finding) for finding in findings)
    said = {
        "fault": lambda n: ngettext("%d thing off the sheet", "%d things off the sheet", n),
        "contradiction": lambda n: ngettext("%d contradiction", "%d contradictions", n),
        "again": lambda n: ngettext("%d number to measure again", "%d numbers to measure again", n),
    }
    return [said[sort](counts[sort]) % counts[sort] for sort in said if counts[sort]]


def _sort(finding: Finding) -> str:
    if finding.outcome in FAULTS:
        return "fault"
    if finding.outcome is Outcome.CONTRADICTION:
        return "contradiction"
    return "again" if finding.needs_attention else ""


def _waited(waiting: Waiting, now: dt.datetime) -> list[str]:
    days = (now - waiting.sent_at) // DAY if waiting.sent_at else 0
    return [ngettext("waits %d day", "waits %d days", days) % days] if days else [_("sent in the last day")]


def _lesson(waiting: Waiting, now: dt.datetime) -> list[str]:
    at: dt.datetime | None = getattr(waiting, "next_lesson", None)
    if at is None or at - now > LESSON[-1][0] * DAY:
        return []
    days = (at - now) // DAY
    if not days:
        return [_("lesson within a day")]
    return [ngettext("lesson in %d day", "lesson in %d days", days) % days]
