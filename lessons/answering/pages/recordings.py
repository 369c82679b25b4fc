"""A round's recordings on its page: those with words are drawn, the others come when opened."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.db.models import QuerySet

from lessons.sending.models import Submission
from reeds.take.models import Take
from reeds.take.pages.noted import Noted
from reeds.take.pages.sounding import ShownTake, TakeInWords, beside_reference, shown
from studio.access import Seer
from studio.models import Member
from studio.prepared import prepared


@dataclass(frozen=True)
class Recording:
    """A take of a round; a folded one is a line until somebody opens it, and is drawn only then."""

    heard: ShownTake | TakeInWords
    is_of_reference: bool
    is_folded: bool


def in_lines(submission: Submission, member: Member) -> list[Take]:
    """Return the takes of a round, as much of each as its line says."""
    return _in_lines(member, submission.pk)


@prepared
def _in_lines(member: Seer, pk: int) -> QuerySet[Take]:
    return Take.objects.visible_to(member).filter(submissions=pk).as_lines()


def recordings(
    submission: Submission, takes: Iterable[Take], said: Mapping[int, Noted], member: Member
) -> list[Recording]:
    """Return the takes sent with a round, those of its own reed first, then those of the reference.

    What somebody wrote of a passage is never folded away, nor that one is still being listened to.
    """
    rows = sorted(takes, key=lambda take: take.reed_id != submission.reed_id)
    written = {pk: noted for pk, noted in said.items() if noted.passages}
    lines: dict[int, ShownTake | TakeInWords] = {one.take.pk: one for one in beside_reference(rows, member)}
    lines |= {one.take.pk: one for one in _drawn(submission, written)}
    return [
        Recording(
            heard=lines[take.pk],
            is_of_reference=take.reed_id != submission.reed_id,
            is_folded=take.is_ready and take.pk not in written,
        )
        for take in rows
    ]


def _drawn(submission: Submission, said: Mapping[int, Noted]) -> list[ShownTake]:
    """Those of which somebody wrote, with all that is drawn of them."""
    if not said:
        return []
    rows = submission.takes.filter(pk__in=said).select_related("reed__version", "reed__owner")
    return shown(list(rows), said)
