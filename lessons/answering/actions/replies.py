"""What is said back, and that an answer was read."""

from __future__ import annotations

import uuid

from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from lessons.answering.models import Reply
from lessons.answering.tasks import tell_of_reply
from lessons.sending.models import MAX_QUESTION, Submission
from studio.errors import NotPossible
from studio.models import Member


@transaction.atomic
def reply(submission: Submission, by: Member, words: str, key: uuid.UUID) -> Reply:
    """Say something back under an answer; the same key twice keeps one."""
    if not words.strip():
        raise NotPossible(_("Write something first."))
    mine = Reply.objects.filter(studio=submission.studio_id, submission=submission, by=by, key=key).first()
    if mine:
        return mine
    try:
        with transaction.atomic():
            said = Reply.objects.create(
                studio_id=submission.studio_id,
                submission=submission,
                by=by,
                words=words.strip()[:MAX_QUESTION],
                key=key,
            )
            note_read(submission, by)
            tell_of_reply.enqueue(said.pk)
            return said
    except IntegrityError:  # two taps at once, or a key used elsewhere
        raise NotPossible(_("This was said already. Open the page anew to say more.")) from None


def note_read(submission: Submission, reader: Member) -> None:
    """Note that somebody has the round open: its student the answer, each side what the other said back."""
    now = timezone.now()
    if reader.pk == submission.student_id and submission.is_new:
        Submission.objects.filter(pk=submission.pk).update(read_at=now)
    Reply.objects.filter(submission=submission).unread_by(reader).update(read_at=now)
