"""An answer sent and taken back; each function is one transaction."""

from __future__ import annotations

from django.db import transaction
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext as _

from lessons.answering.actions.draft import put_out
from lessons.answering.models import Answer
from lessons.answering.tasks import soon, tell_of_answer
from lessons.sending.models import Submission
from studio.errors import NotPossible


@transaction.atomic
def send_answer(answer: Answer) -> None:
    """Send an answer; the round leaves the queue with the older ones of its reed that still wait.

    Its student is told when it is past taking back.
    """
    locked = Answer.objects.select_for_update().select_related("submission__reed").get(pk=answer.pk)
    if locked.sent_at:
        return  # a double tap
    now = timezone.now()
    put_out(locked, now)
    soon(tell_of_answer).enqueue(answer.pk, now.isoformat())


@transaction.atomic
def take_answer_back(answer: Answer) -> list[int]:
    """Undo the sending of an answer and of all that were sent together with it; return of which rounds.

    Their words stay as they were written; each round waits again unless another answered it.
    """
    locked = Answer.objects.select_for_update().get(pk=answer.pk)
    if locked.sent_at is None:
        return []  # a double tap
    if not locked.can_be_taken_back:
        raise NotPossible(
            _("This answer was sent too long ago to take it back. Write a further word instead.")
        )
    back = list(Answer.objects.sent_with(locked))
    for one in back:
        Answer.objects.filter(pk=one.pk).update(sent_at=None, **one.template)
        if not Answer.objects.sent().filter(submission=one.submission_id).exists():
            together = Q(pk=one.submission_id) | Q(answered_with=one.submission_id)
            Submission.objects.filter(together).update(answered_at=None, answered_with=None)
    return [one.submission_id for one in back]
