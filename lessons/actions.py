"""One function for each thing that happens between student and teacher; each is one transaction."""

from __future__ import annotations

from collections.abc import Mapping

from django.db import IntegrityError, transaction
from django.db.models import Max
from django.utils import timezone
from django.utils.translation import gettext as _

from lessons.models import Answer, Mark, Submission
from reeds import actions as bench
from reeds.checks.findings import Finding, need_of
from reeds.models import PlayingTest, Rating, Reed
from studio.errors import NotPossible
from studio.models import Member


def draft_of(reed: Reed, student: Member) -> Submission:
    """Return the reed's open draft, begun now if there is none; two pages at once share one."""
    there = Submission.objects.drafts().filter(reed=reed).first()
    if there:
        return there
    try:
        with transaction.atomic():
            last = Submission.objects.filter(reed=reed).aggregate(last=Max("round"))["last"] or 0
            return Submission.objects.create(
                studio_id=reed.studio_id, reed=reed, student=student, round=last + 1
            )
    except IntegrityError:  # begun by another tap meanwhile
        return Submission.objects.drafts().get(reed=reed)


@transaction.atomic
def save_draft(draft: Submission, typed: Mapping[str, str], question: str) -> None:
    """Keep what was typed, as it was typed."""
    Submission.objects.drafts().filter(pk=draft.pk).update(draft=dict(typed), question=question)
    draft.draft, draft.question = dict(typed), question


@transaction.atomic
def send(
    draft: Submission,
    entries: list[bench.Entry],
    ratings: Mapping[str, int],
    effort: int | None,
    findings: list[Finding],
) -> None:
    """Send a round: its numbers become the reed's, its findings are kept as they were shown."""
    locked = Submission.objects.select_for_update().select_related("reed__version").get(pk=draft.pk)
    if locked.sent_at:
        return  # a double tap
    reed = locked.reed
    if not (entries or ratings or locked.photos.exists() or locked.question.strip()):
        raise NotPossible(_("Add a photo, a number or a question before you send it."))
    locked.measurements.set(bench.record(reed, draft.student, entries))
    locked.playing_test = _playing_test(reed, draft.student, ratings, effort)
    locked.sent_at, locked.stage, locked.version = timezone.now(), reed.stage, reed.version
    locked.findings, locked.need = [finding.as_json() for finding in findings], need_of(findings)
    locked.save()


def _playing_test(
    reed: Reed, student: Member, ratings: Mapping[str, int], effort: int | None
) -> PlayingTest | None:
    if not ratings and effort is None:
        return None
    test = PlayingTest.objects.create(studio_id=reed.studio_id, reed=reed, by=student, effort=effort)
    Rating.objects.bulk_create(
        Rating(studio_id=reed.studio_id, test=test, item=item, speaks=speaks)
        for item, speaks in ratings.items()
    )
    return test


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
