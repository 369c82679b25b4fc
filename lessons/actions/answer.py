"""What a teacher does with a round: answer it, mark it, send that and take it back; one transaction each."""

from __future__ import annotations

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from lessons.models import Answer, Mark, Submission
from studio.errors import NotPossible
from studio.models import Member


def answer_of(submission: Submission, teacher: Member) -> Answer:
    """Return this teacher's own answer to a round, begun now if there is none."""
    answer, _made = Answer.objects.get_or_create(
        submission=submission, author=teacher, defaults={"studio_id": submission.studio_id}
    )
    return answer


@transaction.atomic
def send_answer(answer: Answer) -> None:
    """Send an answer; the round leaves the queue."""
    if not answer.decision:
        raise NotPossible(_("Choose what is to become of the reed."))
    now = timezone.now()
    Answer.objects.filter(pk=answer.pk, sent_at__isnull=True).update(sent_at=now)
    Submission.objects.filter(pk=answer.submission_id, answered_at__isnull=True).update(answered_at=now)


@transaction.atomic
def take_answer_back(answer: Answer) -> None:
    """Undo the sending of an answer: its words stay, the round waits again unless another answered it."""
    Answer.objects.filter(pk=answer.pk).update(sent_at=None)
    if not Answer.objects.sent().filter(submission=answer.submission_id).exists():
        Submission.objects.filter(pk=answer.submission_id).update(answered_at=None)


def put_mark(answer: Answer, mark: Mark) -> Mark:
    """Keep a mark; the same key again replaces it."""
    kept, _made = Mark.objects.update_or_create(
        answer=answer,
        key=mark.key,
        defaults={"studio_id": answer.studio_id, "photo": mark.photo, "annotation": mark.annotation},
    )
    return kept
