"""What a teacher does with a round, and what is said back; each function is one transaction."""

from __future__ import annotations

import uuid
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from lessons.answering.annotation import Drawn, to_annotation
from lessons.answering.models import Answer, Decision, Looking, Mark, Phrase, Reply, Written
from lessons.answering.spans import Span, span_annotation
from lessons.answering.tasks import soon, tell_of_answer, tell_of_reply
from lessons.sending.models import MAX_QUESTION, Submission
from reeds.photo.models.photo import Photo
from reeds.take.models import Take
from studio.errors import NotPossible
from studio.models import Member

MAX_MARKS = 200
MAX_PHRASES = 200

# --- an answer ---


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
    return all(getattr(kept, name) in ("", text) for name, text in vars(written).items())


@transaction.atomic
def send_answer(answer: Answer) -> None:
    """Send an answer; the round leaves the queue with the older ones of its reed that still wait.

    Its student is told when it is past taking back.
    """
    locked = Answer.objects.select_for_update().get(pk=answer.pk)
    if locked.sent_at:
        return  # a double tap
    if locked.decision not in Decision.values:
        raise NotPossible(_("Choose what is to become of the reed."))
    now = timezone.now()
    Answer.objects.filter(pk=answer.pk).update(sent_at=now)
    Submission.objects.filter(pk=answer.submission_id).update(read_at=None)
    Submission.objects.filter(pk=answer.submission_id, answered_at__isnull=True).update(answered_at=now)
    older = answer.submission.older_waiting()
    older.update(answered_at=now, answered_with=answer.submission_id)
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
        together = Q(pk=answer.submission_id) | Q(answered_with=answer.submission_id)
        Submission.objects.filter(together).update(answered_at=None, answered_with=None)


# --- two teachers on one reed ---


def look(submission: Submission, teacher: Member) -> None:
    """Note that this teacher has the round open now."""
    Looking.objects.update_or_create(
        submission=submission,
        member=teacher,
        defaults={"seen_at": timezone.now()},
        create_defaults={"studio_id": submission.studio_id, "seen_at": timezone.now()},
    )


@transaction.atomic
def claim(submission: Submission, teacher: Member, *, over: bool = False) -> None:
    """Say 'I have this one'; from another who has it, only knowingly (`over`)."""
    Submission.objects.select_for_update().get(pk=submission.pk)
    others = Looking.objects.filter(submission=submission, has_it=True).exclude(member=teacher)
    other = others.select_related("member__person").first()
    if other and not over:
        raise NotPossible(_("%(name)s has this one already.") % {"name": other.member})
    others.update(has_it=False)
    look(submission, teacher)
    Looking.objects.filter(submission=submission, member=teacher).update(has_it=True)


def let_go(submission: Submission, teacher: Member) -> None:
    """Take 'I have this one' back."""
    Looking.objects.filter(submission=submission, member=teacher).update(has_it=False)


# --- marks; the page's key makes a second try harmless ---


@transaction.atomic
def put_mark(answer: Answer, photo: Photo, key: uuid.UUID, drawn: Drawn) -> Mark:
    """Keep a mark; the same key again replaces it."""
    open_answer(answer)
    if not answer.submission.photos.kept().filter(pk=photo.pk).exists():
        raise NotPossible(_("This photo does not belong to what was sent."))
    return _keep_mark(answer, key, to_annotation(drawn, key, _language()), photo=photo)


@transaction.atomic
def put_span(answer: Answer, take: Take, key: uuid.UUID, span: Span) -> Mark:
    """Keep a span of a take with its words; the same key again replaces it."""
    open_answer(answer)
    if not answer.submission.takes.kept().filter(pk=take.pk).exists():
        raise NotPossible(_("This recording does not belong to what was sent."))
    return _keep_mark(answer, key, span_annotation(span, key, _language()), take=take)


def _language() -> str:
    return get_language() or "en"


def _keep_mark(answer: Answer, key: uuid.UUID, annotation: dict[str, Any], **on: Photo | Take) -> Mark:
    if answer.marks.exclude(key=key).count() >= MAX_MARKS:
        raise NotPossible(_("There are 200 marks in this answer already."))
    where: dict[str, Photo | Take | None] = {"photo": None, "take": None, **on}
    kept, _made = Mark.objects.update_or_create(
        answer=answer,
        key=key,
        defaults={"studio_id": answer.studio_id, "annotation": annotation, **where},
    )
    return kept


@transaction.atomic
def drop_mark(answer: Answer, key: uuid.UUID) -> None:
    """Take a mark off; one that is gone already is no error."""
    open_answer(answer)
    Mark.objects.filter(answer=answer, key=key).delete()


# --- a teacher's usual words ---


def keep_phrase(teacher: Member, words: str) -> Phrase:
    """Keep words for later; the same words twice are kept once."""
    words = " ".join(words.split())
    if not words:
        raise NotPossible(_("There are no words to keep: select some, or write some."))
    if len(words) > 500:
        raise NotPossible(_("Usual words are short: up to 500 letters."))
    if Phrase.objects.filter(teacher=teacher).count() >= MAX_PHRASES:
        raise NotPossible(_("You have 200 already: drop some that you do not use."))
    phrase, _made = Phrase.objects.get_or_create(
        teacher=teacher, words=words, defaults={"studio_id": teacher.studio_id}
    )
    return phrase


def change_phrase(phrase: Phrase, words: str) -> None:
    """Put other words in their place; how often they were used stays."""
    words = " ".join(words.split())
    if not words or len(words) > 500:
        raise NotPossible(_("Usual words are short: between 1 and 500 letters."))
    Phrase.objects.filter(pk=phrase.pk).update(words=words)


def use_phrase(phrase: Phrase) -> None:
    """Count one use, so that the most used come first."""
    Phrase.objects.filter(pk=phrase.pk).update(used=F("used") + 1)


def drop_phrase(phrase: Phrase) -> None:
    """Drop words that are not used any more."""
    phrase.delete()


# --- what is said back, and that an answer was read ---


@transaction.atomic
def reply(submission: Submission, by: Member, words: str, key: uuid.UUID) -> Reply:
    """Say something back under an answer; the same key twice keeps one."""
    if not words.strip():
        raise NotPossible(_("Write something first."))
    mine = Reply.objects.filter(submission=submission, by=by, key=key).first()
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
            transaction.on_commit(lambda: tell_of_reply.enqueue(said.pk))
            return said
    except IntegrityError:  # two taps at once, or a key used elsewhere
        raise NotPossible(_("This was said already. Open the page anew to say more.")) from None


def note_read(submission: Submission, reader: Member) -> None:
    """Note that somebody has the round open: its student the answer, each side what the other said back."""
    now = timezone.now()
    if reader.pk == submission.student_id and submission.is_new:
        Submission.objects.filter(pk=submission.pk).update(read_at=now)
    Reply.objects.filter(submission=submission).unread_by(reader).update(read_at=now)
