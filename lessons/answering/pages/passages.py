"""Spans of takes with a teacher's words: who reads which, and the tools of the one who marks."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from lessons.answering.forms.span import SpanForm
from lessons.answering.models import Answer, Mark, Phrase
from lessons.answering.pages.marked import as_plain
from lessons.answering.pages.said import keeping
from lessons.sending.models import Submission
from reeds.take.models import Take
from reeds.take.pages.noted import Noted, Passage
from studio.models import Member

TEMPLATE = "lessons/answering/_passages.html"


@dataclass(frozen=True)
class Marking:
    """What a page shows of a take's passages; `form` is None for whoever may not mark it now."""

    take: Take
    passages: Sequence[Passage]
    form: SpanForm | None = None
    round_pk: int | None = None
    is_sent: bool = False
    marks: Sequence[Mapping[str, Any]] = field(default_factory=list)
    said: Mapping[str, str] = field(default_factory=dict)

    @property
    def blank(self) -> Passage:
        """An own passage to copy on the page."""
        return Passage(0, 0.0, 0.0, key="new")


def passages_on(
    takes: Sequence[Take],
    member: Member,
    *,
    may_mark: bool = True,
    form: SpanForm | None = None,
    phrases: Sequence[Phrase] | None = None,
) -> dict[int, Noted]:
    """Return what this member may read of takes, with the tools for a teacher where they `may_mark`.

    A student reads what stands in an answer that was sent, a teacher also the own draft: as with marks on
    photos. `form` is one that was typed wrongly, to be shown again; `phrases` their usual words where a page
    has them.
    """
    if not takes:
        return {}
    marks = _marks(takes, member)
    desk = _Desk(takes, member, phrases) if may_mark and member.teaches else None
    made = {take.pk: _marking(take, marks.get(take.pk, []), desk, form) for take in takes}
    return {pk: Noted(marking.passages, TEMPLATE, marking) for pk, marking in made.items()}


def _marks(takes: Iterable[Take], member: Member) -> dict[int | None, list[Mark]]:
    answers = Answer.objects.visible_to(member).seen_by(member)
    rows = Mark.objects.visible_to(member).filter(take__in=takes, answer__in=answers)
    found: dict[int | None, list[Mark]] = {}
    for mark in rows.select_related("answer__author__person"):
        found.setdefault(mark.take_id, []).append(mark)
    return found


class _Desk:
    """What a teacher marks with: the rounds the takes were sent with, their usual words, what is sent."""

    def __init__(
        self, takes: Sequence[Take], member: Member, phrases: Sequence[Phrase] | None = None
    ) -> None:
        self.member = member
        rounds = Submission.objects.visible_to(member).sent().filter(takes__in=takes)
        pairs = rounds.order_by("round").values_list("takes", "pk")
        self.rounds: dict[int | None, int] = dict(pairs)  # the newest round counts
        answered = Answer.objects.visible_to(member).sent().filter(author=member)
        self.sent = set(answered.filter(submission__in=rounds).values_list("submission", flat=True))
        if phrases is None:
            phrases = list(Phrase.objects.visible_to(member).filter(teacher=member))
        self.phrases = phrases

    def is_draft(self, mark: Mark) -> bool:
        """Whether it can still be changed by this teacher."""
        return mark.answer.author_id == self.member.pk and mark.answer.sent_at is None


def _marking(take: Take, marks: Sequence[Mark], desk: _Desk | None, form: SpanForm | None) -> Marking:
    own = [mark for mark in marks if desk is not None and desk.is_draft(mark)]
    others = [mark for mark in marks if mark not in own]
    passages = [_passage(n, mark, mark in own) for n, mark in enumerate([*others, *own], 1)]
    round_pk = None if desk is None else desk.rounds.get(take.pk)
    if desk is None or round_pk is None:
        return Marking(take, passages)
    is_sent = round_pk in desk.sent
    tools = None if is_sent else form or SpanForm(take, desk.phrases)
    return Marking(take, passages, tools, round_pk, is_sent, [as_plain(mark) for mark in own], keeping())


def _passage(number: int, mark: Mark, is_own: bool) -> Passage:
    span = mark.span
    key = str(mark.key) if is_own else ""
    return Passage(number, span.start_s, span.end_s, span.words, key, str(mark.answer.author))
