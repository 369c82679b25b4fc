"""The draft of an answer: begun, kept while it grows, put out; nobody is told here."""

from __future__ import annotations

import datetime as dt
import uuid

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from lessons.answering.models import Answer, Decision, Written
from lessons.sending.models import Submission
from studio.errors import NotPossible
from studio.models import Member


def refuse_taken_out(member: Member, submission_pk: int) -> None:
    """Say so if the student has taken the reed out while it was looked at."""
    rows = Submission.objects.filter(studio=member.studio_id, pk=submission_pk)
    if rows.drafts().exists():
        raise NotPossible(
            _("This round is with its student again, to add something. Your words are still on this page.")
        )
    if rows.filter(reed__taken_out_at__isnull=False).exists():
        raise NotPossible(
            _("The student has taken this reed out meanwhile. Your words are still on this page.")
        )


def answer_of(submission: Submission, teacher: Member) -> Answer:
    """Return this teacher's own answer to a round, begun now if there is none."""
    answer, _made = Answer.objects.get_or_create(
        studio_id=submission.studio_id, submission=submission, author=teacher
    )
    answer.submission = submission
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
    return all(getattr(kept, name) in ("", None, text) for name, text in vars(written).items())


def put_out(locked: Answer, now: dt.datetime, together: uuid.UUID | None = None) -> None:
    """Put a draft out as an answer, the reed's number in its words; nobody is told yet."""
    if locked.decision not in Decision.values:
        raise NotPossible(_("Choose what is to become of the reed."))
    if locked.voice and locked.voice.sound_is_refused:
        raise NotPossible(_("The spoken note cannot be heard: record it again, or take it out."))
    round_, written = locked.submission, locked.written
    Answer.objects.filter(pk=locked.pk).update(
        **vars(written.about(round_.reed.number)), template=vars(written), together=together, sent_at=now
    )
    Submission.objects.filter(pk=round_.pk).update(read_at=None)
    Submission.objects.filter(pk=round_.pk, answered_at__isnull=True).update(answered_at=now)
    round_.older_waiting().update(answered_at=now, answered_with=round_.pk)
