"""What a teacher does with a round: answers it, sends the answer, takes it back; one transaction each."""

from __future__ import annotations

from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from lessons.answering.models import Answer, Decision
from lessons.answering.tasks import soon, tell_of_answer
from lessons.sending.models import Submission
from studio.errors import NotPossible
from studio.models import Member


@dataclass(frozen=True)
class Written:
    """What a teacher wrote, as it stands on the page."""

    words: str = ""
    decision: str = ""
    next_step: str = ""
    caution: str = ""


def refuse_taken_out(member: Member, submission_pk: int) -> None:
    """Say so if the student has taken the reed out while it was looked at."""
    rows = Submission.objects.sent().filter(studio=member.studio_id, reed__taken_out_at__isnull=False)
    if rows.filter(pk=submission_pk).exists():
        raise NotPossible(
            _("The student has taken this reed out meanwhile. Your words are still on this page.")
        )


def answer_of(submission: Submission, teacher: Member) -> Answer:
    """Return this teacher's own answer to a round, begun now if there is none."""
    answer, _made = Answer.objects.get_or_create(
        submission=submission, author=teacher, defaults={"studio_id": submission.studio_id}
    )
    return answer


def open_answer(answer: Answer) -> Answer:
    """Return the answer locked for this transaction, if it can still be changed."""
    locked = Answer.objects.select_for_update().get(pk=answer.pk)
    if locked.sent_at:
        raise NotPossible(_("This answer has been sent. Take it back to change it."))
    return locked


@transaction.atomic
def keep_answer(answer: Answer, written: Written, since: str = "") -> None:
    """Keep an answer's words as they grow; `since` is the time of the words that the page began from."""
    kept = open_answer(answer)
    if since and since != kept.saved_at.isoformat() and not _same(kept, written):
        answer.saved_at = kept.saved_at
        raise NotPossible(
            _("This answer was changed in another window: “%(words)s”. Send again to put yours in its place.")
            % {"words": kept.words}
        )
    Answer.objects.filter(pk=answer.pk).update(**vars(written), saved_at=timezone.now())
    answer.refresh_from_db()


def _same(kept: Answer, written: Written) -> bool:
    """Whether nothing would be lost by putting the one for the other."""
    return all(getattr(kept, name) in ("", text) for name, text in vars(written).items())


@transaction.atomic
def send_answer(answer: Answer) -> None:
    """Send an answer; the round leaves the queue, and its student is told when it is past taking back."""
    locked = Answer.objects.select_for_update().get(pk=answer.pk)
    if locked.sent_at:
        return  # a double tap
    if locked.decision not in Decision.values:
        raise NotPossible(_("Choose what is to become of the reed."))
    now = timezone.now()
    Answer.objects.filter(pk=answer.pk).update(sent_at=now)
    Submission.objects.filter(pk=answer.submission_id).update(read_at=None)
    Submission.objects.filter(pk=answer.submission_id, answered_at__isnull=True).update(answered_at=now)
    transaction.on_commit(lambda: soon(tell_of_answer).enqueue(answer.pk, now.isoformat()))


@transaction.atomic
def take_answer_back(answer: Answer) -> None:
    """Undo the sending of an answer: its words stay, the round waits again unless another answered it."""
    locked = Answer.objects.select_for_update().get(pk=answer.pk)
    if locked.sent_at is None:
        return  # a double tap
    if not locked.can_be_taken_back:
        raise NotPossible(
            _("This answer was sent too long ago to take it back. Write a further word instead.")
        )
    Answer.objects.filter(pk=answer.pk).update(sent_at=None)
    if not Answer.objects.sent().filter(submission=answer.submission_id).exists():
        Submission.objects.filter(pk=answer.submission_id).update(answered_at=None)
