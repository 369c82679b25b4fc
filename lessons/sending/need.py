"""The order of need: one table of what moves a reed up, and by how much.

The sorting (placed.py), the words beside a reed and the page's 'why this order' read the same rows.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from reeds.checks.findings import ASKS_AGAIN, FAULTS, Finding, Outcome

DAY = dt.timedelta(days=1)
# what the checks found counts for as much as they weigh it, but never for as much as a question
MOST_FOUND = 10


@dataclass(frozen=True)
class Row:
    """One thing that moves a reed up, by so many points; of one kind only the first that holds counts."""

    kind: str
    points: int
    name: str | Promise
    days: int = 0


# own choice, no source: who waits for a person comes before what numbers say, and nobody waits for ever
ORDER = (
    Row("leak", 16, gettext_lazy("it leaks")),
    Row("reply", 14, gettext_lazy("the student said something back that nobody has read")),
    Row("lesson", 14, gettext_lazy("a lesson within a day"), 1),
    Row("lesson", 10, gettext_lazy("a lesson within two days"), 2),
    Row("lesson", 4, gettext_lazy("a lesson within four days"), 4),
    Row("lesson", 1, gettext_lazy("a lesson within a week"), 7),
    Row("question", 12, gettext_lazy("a question")),
    Row("later", 3, gettext_lazy("something was measured or heard after it was sent")),
    Row("waited", 20, gettext_lazy("waits for two weeks"), 14),
    Row("waited", 14, gettext_lazy("waits for ten days"), 10),
    Row("waited", 10, gettext_lazy("waits for a week"), 7),
    Row("waited", 7, gettext_lazy("waits for five days"), 5),
    Row("waited", 4, gettext_lazy("waits for three days"), 3),
    Row("waited", 2, gettext_lazy("waits for two days"), 2),
    Row("waited", 1, gettext_lazy("waits for a day"), 1),
)
LESSONS_WITHIN = max(row.days for row in ORDER if row.kind == "lesson")


class Waiting(NamedTuple):
    """What its place and the words beside it are made of: of one reed that waits."""

    need: int
    leaks: bool
    said_back: bool
    asks: bool
    got_more: bool
    waits_since: dt.datetime
    next_lesson: dt.datetime | None


# when a row holds that asks for no days
HOLDS: dict[str, Callable[[Waiting], bool]] = {
    "leak": lambda it: it.leaks,
    "reply": lambda it: it.said_back,
    "question": lambda it: it.asks,
    "later": lambda it: it.got_more,
}
PLAIN = tuple((HOLDS[row.kind], row.points) for row in ORDER if row.kind in HOLDS)
LESSON, WAITED = (
    tuple((row.days * DAY, row.points) for row in ORDER if row.kind == kind) for kind in ("lesson", "waited")
)


def leaks(findings: Iterable[Finding]) -> bool:
    """Whether the reed was found not to be airtight."""
    return any(one.quantity == "airtight" and one.is_fault for one in findings)


def points(waiting: Waiting, now: dt.datetime) -> int:
    """Return the sum of what holds of it; a line of hundreds is placed by it at once."""
    total = min(waiting.need, MOST_FOUND)
    for holds, more in PLAIN:
        if holds(waiting):
            total += more
    if waiting.next_lesson is not None:
        until = waiting.next_lesson - now
        total += next((more for days, more in LESSON if until <= days), 0)
    waited = now - waiting.waits_since
    return total + next((more for days, more in WAITED if waited >= days), 0)


def table() -> Iterator[tuple[str | Promise, int]]:
    """Yield what moves a reed up and by how much, as a teacher is shown it, the most first."""
    found = gettext_lazy("what the checks found, at most")
    rows = [*((row.name, row.points) for row in ORDER), (found, MOST_FOUND)]
    yield from sorted(rows, key=lambda row: -row[1])


def reasons(waiting: Waiting, found: Iterable[Outcome], now: dt.datetime) -> list[str]:
    """Say in plain words why a round stands where it stands, what weighs most first."""
    said = {
        "leak": [_("it leaks")] if waiting.leaks else [],
        "reply": [_("something was said back")] if waiting.said_back else [],
        "lesson": _lesson(waiting, now),
        "question": [_("a question")] if waiting.asks else [],
        "later": [_("something came later")] if waiting.got_more else [],
        "waited": _waited(waiting, now),
    }
    kinds = dict.fromkeys(row.kind for row in ORDER)
    before = [words for kind in kinds if kind != "waited" for words in said[kind]]
    return [*before, *_found(found), *said["waited"]]


def _found(outcomes: Iterable[Outcome]) -> list[str]:
    counts = Counter(map(_sort, outcomes))
    said = {
        "fault": lambda n: ngettext("%d thing off the sheet", "%d things off the sheet", n),
        "contradiction": lambda n: ngettext("%d contradiction", "%d contradictions", n),
        "again": lambda n: ngettext("%d number to measure again", "%d numbers to measure again", n),
    }
    return [said[sort](counts[sort]) % counts[sort] for sort in said if counts[sort]]


def _sort(outcome: Outcome) -> str:
    if outcome in FAULTS:
        return "fault"
    if outcome is Outcome.CONTRADICTION:
        return "contradiction"
    return "again" if outcome in ASKS_AGAIN else ""


def _waited(waiting: Waiting, now: dt.datetime) -> list[str]:
    days = (now - waiting.waits_since) // DAY
    return [ngettext("waits %d day", "waits %d days", days) % days] if days else [_("sent in the last day")]


def _lesson(waiting: Waiting, now: dt.datetime) -> list[str]:
    at = waiting.next_lesson
    if at is None or at - now > LESSONS_WITHIN * DAY:
        return []
    days = (at - now) // DAY
    if not days:
        return [_("lesson within a day")]
    return [ngettext("lesson in %d day", "lesson in %d days", days) % days]
