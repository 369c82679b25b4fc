"""A term for the one who made its reeds: what became steadier, what comes back, what the teacher wished."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.db.models import Exists, OuterRef, QuerySet
from django.utils import timezone

from lessons.answering.models import Answer
from lessons.lesson.models import SetWork, asked_since
from lessons.term.lookback.of_student import OfStudent
from lessons.term.lookback.sentence import Manner, Sentence, Topic
from lessons.term.lookback.steadier import each_length, too_coarse
from lessons.term.rows import TermRows
from lessons.term.said import Told, page_of
from reeds.numbers.quantity import Quantity
from reeds.numbers.words import Stage
from reeds.reed.models.reed import ReedEvent
from studio.access import Seer
from studio.models import NAMING, Member
from studio.prepared import prepared

# as many as one keeps in mind; the others stand with their rounds. Own choice
WISHES = 3
# so many answers back they are looked for: several rounds of one reed say one after the other
LOOKED_AT = 24
OF_A_STEP = (
    "submission__reed_id",
    "submission__reed__stage",
    "was_touched",
    "submission__reed__number",
    "submission_id",
    "next_step",
    "sent_at",
    "author_id",
    *(f"author__{name}" for name in NAMING),
)


@dataclass(frozen=True)
class Wish:
    """The next step that a teacher wrote last to one reed; open if nothing was noted since."""

    number: int
    round: int
    next_step: str
    author: str
    sent_at: dt.datetime
    is_open: bool


class Mine:
    """What one student, who asks, reads of their own term; `told` is what may be said of it."""

    def __init__(self, rows: TermRows, told: Sequence[Told]) -> None:
        self.rows, self.told = rows, told

    @cached_property
    def _said(self) -> list[Sentence]:
        return [one for of in self.told for one in of.sentences]

    @property
    def unsaid(self) -> list[Sentence]:
        """What cannot be said of the term, and why."""
        return [one for of in self.told for one in of.unsaid]

    @property
    def made(self) -> list[Sentence]:
        """What became of the reeds that were made."""
        return [one for one in self._said if one.topic is Topic.REEDS]

    @cached_property
    def moved(self) -> list[Sentence]:
        """One sentence a thing: what changed, then the lengths that did not yet, then how else it is."""
        lengths = [one for each in self._of for one in each_length(each, page_of(self.rows), self._said)]
        of_lengths = {one.about for one in lengths}
        rows = [*lengths, *(one for one in self._said if self._is_other(one, of_lengths))]
        return sorted(rows, key=lambda one: one.manner is not Manner.CHANGE)

    @cached_property
    def too_coarse(self) -> list[Quantity]:
        """The lengths of which the tool tells too little."""
        return [self.rows.known[key] for each in self._of for key in too_coarse(each, page_of(self.rows))]

    @property
    def _of(self) -> list[OfStudent]:
        return [one for told in self.told for one in told.of]

    def _is_other(self, one: Sentence, of_lengths: set[str]) -> bool:
        is_told = one.topic is Topic.EVENNESS and one.about in of_lengths
        return not is_told and one.topic is not Topic.REEDS and one not in self.returning

    @cached_property
    def returning(self) -> list[Sentence]:
        """The findings that come back."""
        return [one for one in self._said if one.topic is Topic.FINDING and one.manner is not Manner.CHANGE]

    @cached_property
    def grounds(self) -> list[Sentence]:
        """The sentences that rest on figures, for those who want them."""
        return [one for one in [*self.moved, *self.returning] if one.ground.message]

    @cached_property
    def wishes(self) -> list[Wish]:
        """The last next steps of the term, one a reed; open are those after which nothing was noted."""
        newest: dict[int, tuple[bool, tuple[Any, ...]]] = {}
        for reed, stage, was_touched, *row in _steps(self.rows.asking, *self.rows.term.span):
            newest.setdefault(reed, (not was_touched and not Stage(stage).is_over, tuple(row)))
        wished = sorted(newest.values(), key=lambda wish: not wish[0])
        return [_wish(*wish) for wish in wished[:WISHES]]

    @cached_property
    def work(self) -> list[SetWork]:
        """What is still to be made, while the term runs."""
        if self.rows.term.ends_on < timezone.localdate(timezone=self.rows.term.studio.zone):
            return []
        return _work(self.rows.asking, asked_since())


@prepared
def _steps(asking: Seer, start: dt.datetime, end: dt.datetime) -> QuerySet[Answer, tuple[Any, ...]]:
    since = ReedEvent.objects.visible_to(asking).standing()
    since = since.filter(reed=OuterRef("submission__reed"), at__gt=OuterRef("sent_at"))
    rows = Answer.objects.visible_to(asking).sent().exclude(next_step="")
    rows = rows.filter(submission__student=asking.pk, sent_at__gte=start, sent_at__lt=end)
    rows = rows.annotate(was_touched=Exists(since)).order_by("-sent_at", "-pk")
    return rows.values_list(*OF_A_STEP)[:LOOKED_AT]


def _wish(is_open: bool, row: tuple[Any, ...]) -> Wish:
    number, of, step, at, by, erased_at, name, username = row
    author = Member(pk=by).number_alone if erased_at else name or username
    return Wish(number, of, step, author, at, is_open)


@prepared
def _work(asking: Seer, since: dt.date) -> QuerySet[SetWork]:
    rows = SetWork.objects.visible_to(asking).filter(student=asking.pk)
    return rows.still_asked(since).only("words", "due_on")
