"""A round's recordings on its page: the first and those with words are drawn, the others come when opened."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from lessons.sending.models import Submission
from reeds.take.models import Take
from reeds.take.pages.noted import Noted
from reeds.take.pages.sounding import ShownTake, shown


@dataclass(frozen=True)
class Recording:
    """A take of a round; a folded one is a line until somebody opens it, and is drawn only then."""

    heard: ShownTake
    is_of_reference: bool
    is_folded: bool


def recordings(submission: Submission, takes: Iterable[Take], said: Mapping[int, Noted]) -> list[Recording]:
    """Return the takes sent with a round, those of its own reed first, then those of the reference.

    What somebody wrote of a passage is never folded away.
    """
    rows = shown(sorted(takes, key=lambda take: take.reed_id != submission.reed_id), said)
    return [
        Recording(heard, heard.take.reed_id != submission.reed_id, n > 0 and not heard.has_words)
        for n, heard in enumerate(rows)
    ]
