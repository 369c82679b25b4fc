"""Several alike answered at once: one answer, to each reed with its own number in the words."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Iterable, Sequence

from django.db import transaction
from django.utils import timezone

from lessons.answering.actions.draft import answer_of, put_out
from lessons.answering.actions.left_out import NotSent, why_not
from lessons.answering.models import Answer
from lessons.answering.tasks import soon, tell_of_answer
from lessons.sending.models import Submission
from lessons.voice.actions import drop_unheld


@transaction.atomic
def send_together(answer: Answer, others: Iterable[Submission]) -> list[NotSent]:
    """Send an answer, and the same to other rounds, each with its own reed's number; return who was left out.

    What was answered, taken out or taken on by another teacher meanwhile is left out. Marks stay with the
    round that was marked. The students are told of all of it in one e-mail each.
    """
    locked = Answer.objects.select_for_update().select_related("submission__reed", "author").get(pk=answer.pk)
    if locked.sent_at:
        return []  # a double tap
    now, key = timezone.now(), uuid.uuid4()
    put_out(locked, now, key)
    sent, left = [locked], []
    for round_ in _locked(others):
        if why := why_not(round_, locked.author, locked.written):
            left.append(NotSent(round_, why))
        else:
            sent.append(_copied(locked, round_, now, key))
    _tell(sent, now)
    return left


def _locked(rounds: Iterable[Submission]) -> list[Submission]:
    rows = Submission.objects.select_for_update().select_related("reed", "student__person")
    return [rows.get(pk=row.pk) for row in rounds]


def _copied(answer: Answer, round_: Submission, now: dt.datetime, key: uuid.UUID) -> Answer:
    copy = answer_of(round_, answer.author)
    before = copy.voice
    Answer.objects.filter(pk=copy.pk).update(**vars(answer.written), voice=answer.voice, saved_at=now)
    if before and before != answer.voice:
        drop_unheld(before)
    copy.refresh_from_db()
    put_out(copy, now, key)
    return copy


def _tell(sent: Sequence[Answer], now: dt.datetime) -> None:
    """Have one task a student tell what was sent to them in this sitting."""
    for pk in {one.submission.student_id: one.pk for one in sent}.values():
        soon(tell_of_answer).enqueue(pk, now.isoformat())
