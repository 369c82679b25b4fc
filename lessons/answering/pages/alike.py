"""Several alike at once: blanks of one batch, the others an answer goes to, what was sent as one."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db.models import QuerySet
from django.utils import timezone

from lessons.answering.actions.left_out import NotSent, not_sent, why_not
from lessons.answering.models import NEWEST_FIRST, UNDO, Answer
from lessons.sending.models import Submission
from reeds.take.kept import SoundState
from studio.access import Seer
from studio.asked import row_numbers
from studio.models import NAMING, Member
from studio.prepared import prepared


@dataclass(frozen=True)
class Alike:
    """A round answered with the one that is looked at, or why not; `also` go along if it is looked at."""

    submission: Submission
    why: str
    also: tuple[int, ...]


def alike(looked_at: Submission, rounds: Iterable[Submission], member: Member) -> list[Alike]:
    """Return the others; `also` of each are the rounds that go along if it were looked at instead."""
    others = list(rounds)
    all_of_them = [looked_at.pk, *(row.pk for row in others)]
    return [
        Alike(row, why_not(row, member), tuple(pk for pk in all_of_them if pk != row.pk)) for row in others
    ]


def left_out(given: Iterable[str], member: Member) -> list[NotSent]:
    """Return which of these rounds an answer was not sent to, and why."""
    pks = [pk for pk in row_numbers(given) if pk]
    return not_sent(member, pks) if pks else []


def sent_alike(submission: Submission, member: Member) -> list[Submission]:
    """Return the other rounds this member may see to which the same answer was sent."""
    answers = Answer.objects.visible_to(member).sent()
    keys = answers.filter(submission=submission, together__isnull=False).values("together")
    rows = Submission.objects.visible_to(member).filter(answers__in=answers.filter(together__in=keys))
    return list(rows.exclude(pk=submission.pk).select_related("reed").order_by("reed__number").distinct())


@dataclass(frozen=True)
class JustSent:
    """Answers that were sent as one, and are taken back as one."""

    answers: Sequence[Answer]

    @property
    def first(self) -> Answer:
        return self.answers[0]

    @property
    def numbers(self) -> str:
        """The numbers of their reeds."""
        return ", ".join(str(one.submission.reed.number) for one in self.answers)

    @property
    def students(self) -> str:
        """Whose reeds they are, each once."""
        return ", ".join(dict.fromkeys(str(one.submission.student) for one in self.answers))


def just_sent(answers: Iterable[Answer], but: Submission) -> list[JustSent]:
    """Return what a teacher sent so lately that it can be taken back, newest first, but not this one."""
    sendings = _sendings(answers)
    return [one for one in sendings if but.pk not in [answer.submission_id for answer in one.answers]]


def own_sendings(member: Member) -> tuple[list[JustSent], list[Answer]]:
    """Return what this teacher can take back still, and their answers whose note nobody can hear."""
    answers = _own(member, timezone.now() - UNDO)
    unheard = [one for one in answers if one.voice and one.voice.sound_state == SoundState.REFUSED]
    return _sendings(one for one in answers if one.can_be_taken_back), unheard[::-1]


@prepared
def _own(member: Seer, since: dt.datetime) -> QuerySet[Answer]:
    rows = Answer.objects.visible_to(member).just_sent_or_unheard(member, since).with_reeds()
    return rows.select_related("voice").only(*TOLD).order_by(*NEWEST_FIRST)


TOLD = (
    *("sent_at", "together", "submission__reed__number", "voice__sound_state", "voice__sound_refusal"),
    *(f"submission__student__{name}" for name in NAMING),
)


def _sendings(answers: Iterable[Answer]) -> list[JustSent]:
    sendings: dict[object, list[Answer]] = {}
    for one in answers:
        sendings.setdefault(one.together or one.pk, []).append(one)
    return [JustSent(rows) for rows in sendings.values()]
