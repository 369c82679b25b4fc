"""What the review page asks of the database: each kind of row once, by SQL that is written once."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import F, Q, QuerySet
from django.utils import timezone

from lessons.answering.models import NEWEST_FIRST, UNDO, Answer, Mark, Phrase
from lessons.sending.models import Submission, numbers_of
from reeds.photo.models.photo import Photo, PhotoState
from reeds.reed.models.measurement import Measurement
from reeds.take.models import Take
from studio.access import Seer
from studio.models import NAMING, Member
from studio.prepared import prepared

NOT_SHOWN = ("draft", "typed_at", "reed__version__data", "reed__version__playing", "reed__shape")


@dataclass(frozen=True)
class Answers:
    """The answers at a round, one's own perhaps one to begin; and what one sent lately, to any round."""

    own: Answer
    by_others: list[Answer]
    lately: list[Answer]


def round_of(member: Member, pk: int) -> Submission | None:
    """Return a round that was sent, with what is shown of it at once; None if this member sees none."""
    for row in _round(member, pk):
        if row.reed.owner_id == row.student_id:
            row.reed.owner = row.student
        if row.version_id == row.reed.version_id:
            row.version = row.reed.version
        return row
    return None


@prepared
def _round(member: Seer, pk: int) -> QuerySet[Submission]:
    rows = Submission.objects.visible_to(member).sent().filter(pk=pk).with_what_is_new()
    return rows.select_related("reed__version__pattern", "student__person").defer(*NOT_SHOWN)


def answers_at(submission: Submission, member: Member) -> Answers:
    """Return those of a round, and what this member sent so lately that it can be taken back."""
    since = timezone.now() - UNDO
    rows = _answers(member, submission.pk, since)
    here = [one for one in rows if one.submission_id == submission.pk]
    own = next((one for one in here if one.author_id == member.pk), None)
    own = own or Answer(studio_id=submission.studio_id)
    own.author, own.submission = member, submission  # at hand: nothing asks for them again
    return Answers(
        own=own,
        by_others=[one for one in here if one.author_id != member.pk][::-1],
        lately=[one for one in rows if one.author_id == member.pk and one.can_be_taken_back],
    )


@prepared
def _answers(member: Seer, pk: int, since: dt.datetime) -> QuerySet[Answer]:
    sent_or_own = Q(sent_at__isnull=False) | Q(author=member.pk)
    lately = Q(author=member.pk, sent_at__gt=since)
    rows = Answer.objects.visible_to(member).filter(Q(submission=pk) & sent_or_own | lately)
    named = [f"{path}__{name}" for path in ("author", "submission__student") for name in NAMING]
    own = [field.name for field in Answer._meta.concrete_fields]
    told = rows.select_related("author__person", "submission__reed", "submission__student__person")
    return told.only(*own, "submission__reed__number", *named).order_by(*NEWEST_FIRST)


def photos_of(submission: Submission, member: Member) -> list[Photo]:
    """Return the photos of a round that were not refused, each with its measuring."""
    rows = _photos(member, submission.pk)
    for row in rows:
        if row.reed_id == submission.reed_id:
            row.reed = submission.reed
    return rows


@prepared
def _photos(member: Seer, pk: int) -> QuerySet[Photo]:
    rows = Photo.objects.visible_to(member).filter(submissions=pk).exclude(state=PhotoState.REFUSED)
    return rows.select_related(None).select_related("measuring")


def marks_at(submission: Submission, takes: Iterable[Take], member: Member) -> tuple[list[Mark], set[int]]:
    """Return one's own marks of a round, and of which takes anybody said anything."""
    pks = tuple(take.pk for take in takes)
    rows = _marks(member, submission.pk, pks or (0,))
    own = [row for row in rows if (row.author, row.on_round) == (member.pk, submission.pk)]  # type: ignore[attr-defined]  # as annotated
    return own, {row.take_id for row in rows if row.take_id in pks}


@prepared
def _marks(member: Seer, pk: int, takes: tuple[int, ...]) -> QuerySet[Mark]:
    own = Q(answer__author=member.pk)
    said = Q(take__in=takes) & (Q(answer__sent_at__isnull=False) | own)
    rows = Mark.objects.visible_to(member).filter(own & Q(answer__submission=pk) | said)
    return rows.annotate(author=F("answer__author"), on_round=F("answer__submission"))


def measured_at(submission: Submission, member: Member) -> tuple[list[Measurement], list[Measurement]]:
    """Return the numbers sent with a round, and those that came later, oldest first."""
    rows = numbers_of(member, submission.pk, submission.reed_id)
    for row in rows:
        row.reed = submission.reed
    return [row for row in rows if row.was_sent], [row for row in rows if not row.was_sent]  # type: ignore[attr-defined]  # as annotated


@prepared
def phrases_of(member: Seer) -> QuerySet[Phrase]:
    """Return one's own usual words, the most used first."""
    return Phrase.objects.visible_to(member).filter(teacher=member.pk)
