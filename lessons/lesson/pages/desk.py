"""What lies on a student's desk: rounds by what is to be done with them, blanks that rested enough."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from django.db.models import Prefetch, Q, prefetch_related_objects

from lessons.answering.models import Answer
from lessons.answering.pages.unread import Unread
from lessons.sending.models import NEW, Submission
from reeds.checks.sheet import Sheet
from reeds.numbers.quantity import Known
from reeds.reed.models.reed import Reed
from reeds.reed.pages import least_rest
from studio.models import Member

# so many of the answers that were read
SHOWN = 12


@dataclass(frozen=True)
class Desk:
    """A student's rounds, sorted by what is to be done with them."""

    begun: list[Submission]
    waiting: list[Submission]
    new: list[Submission]
    answered: list[Submission]

    @property
    def is_empty(self) -> bool:
        """Whether nothing was ever begun or sent: then the desk shows the way."""
        return not (self.begun or self.waiting or self.new or self.answered)

    @property
    def reeds(self) -> list[Reed]:
        """The reeds of all of them, one for each round."""
        return [row.reed for row in [*self.begun, *self.waiting, *self.new, *self.answered]]

    def unread(self, said_back: Iterable[Unread]) -> int:
        """Return in how many rounds something is unread: what `Submission.objects.unread_by` would count."""
        return len({row.pk for row in self.new} | {one.submission.pk for one in said_back})


def rounds_of(member: Member) -> list[Submission]:
    """Return what `on_the_desk` sorts: what is begun, waits or is not read yet, and the last that were read.

    However much a student was ever answered, no more of it is fetched than is shown.
    """
    own = Submission.objects.visible_to(member).filter(student=member)
    own = own.select_related("reed").defer("draft", "typed_at", "findings")
    still_open = own.filter(Q(answered_at__isnull=True) | NEW).with_something()
    read = own.filter(answered_at__isnull=False, answered_with__isnull=True).exclude(NEW)
    rows = [*still_open, *read.order_by("-answered_at")[:SHOWN]]
    said = Prefetch("answers", Answer.objects.visible_to(member).sent(), to_attr="said")
    prefetch_related_objects(rows, said)
    return rows


def on_the_desk(rounds: Iterable[Submission]) -> Desk:
    """Sort rounds: begun, waiting, answered and not yet read, answered and read.

    What was folded under a newer round of its reed, and waits or was answered with it, is that one's to show.
    """
    rows = [row for row in rounds if row.answered_with_id is None]
    answered = sorted((row for row in rows if row.answered_at), key=_when_answered, reverse=True)
    foremost = {row.reed_id: row for row in sorted(rows, key=lambda row: row.round) if row.is_waiting}
    return Desk(
        begun=[row for row in rows if row.sent_at is None],
        waiting=[row for row in rows if row in foremost.values()],
        new=[row for row in answered if row.is_new],
        answered=[row for row in answered if not row.is_new][:SHOWN],
    )


def _when_answered(row: Submission) -> float:
    return row.answered_at.timestamp() if row.answered_at else 0.0


def ready_blanks(blanks: Iterable[Reed], known: Known) -> Iterator[Reed]:
    """Yield the blanks that have rested as long as their sheet asks, one night where it asks nothing.

    `known` is what their studio knows.
    """
    sheets: dict[int, Sheet] = {}
    yield from (reed for reed in blanks if reed.rested >= least_rest(reed, known, sheets))
