"""The invented teacher's answers: words, a decision, a next step, a mark on the photo."""

from __future__ import annotations

import datetime as dt
import uuid

from django.utils import timezone

from lessons.answering.annotation import Drawn, Kind, to_annotation
from lessons.answering.models import Answer, Decision, Mark
from lessons.demo.people import PHRASES
from lessons.sending.models import Submission
from reeds.checks.findings import Finding, Outcome
from reeds.numbers.words import Stage, said
from studio.models import Member

NAMESPACE = uuid.UUID("5d0f3c1e-6a52-4c57-9d8e-3f5a0a3e7b11")


def answer_of(
    submission: Submission, teacher: Member, findings: list[Finding], moment: dt.datetime
) -> Answer:
    """Return the answer this teacher would give, not saved yet."""
    decision, words = _decision(submission, findings)
    faults = [finding for finding in findings if finding.is_fault and finding.next_step and not finding.waits]
    step = faults[0] if faults else None
    return Answer(
        studio=submission.studio,
        submission=submission,
        author=teacher,
        words=words,
        decision=decision,
        next_step=said(step.next_step, step.params) if step else "",
        caution=said(step.caution, step.params) if step else "",
        saved_at=moment,
        sent_at=moment,
    )


def answer_round(
    submission: Submission, teacher: Member, findings: list[Finding], moment: dt.datetime
) -> None:
    """Answer a round as this teacher would, on that day."""
    answer = answer_of(submission, teacher, findings, moment)
    answer.save()
    read = moment + dt.timedelta(days=1)
    unread = read > timezone.now() - dt.timedelta(days=8)
    Submission.objects.filter(pk=submission.pk).update(answered_at=moment, read_at=None if unread else read)
    photo = submission.photos.first()
    if photo and any(finding.is_fault for finding in findings):
        key = uuid.uuid5(NAMESPACE, f"{submission.student.person.username} {submission}")
        drawn = Drawn(Kind.ARROW, ((0.48, 0.3), (0.56, 0.45)), "Look here: the last turn of the thread.")
        Mark.objects.create(
            studio=submission.studio,
            answer=answer,
            photo=photo,
            key=key,
            annotation=to_annotation(drawn, key),
            made_at=moment,
        )


def _decision(submission: Submission, findings: list[Finding]) -> tuple[Decision, str]:
    outcomes = {finding.outcome for finding in findings}
    if Outcome.CONTRADICTION in outcomes:
        return Decision.WORK, PHRASES[0]
    faults = any(finding.is_fault for finding in findings)
    if submission.stage == Stage.PLAYING:
        return (Decision.WORK, PHRASES[2]) if faults else (Decision.PLAY, PHRASES[3])
    if submission.stage == Stage.FINISHING:
        return Decision.BRING, PHRASES[5]
    return (Decision.ANOTHER, PHRASES[4]) if faults else (Decision.REST, PHRASES[1])
