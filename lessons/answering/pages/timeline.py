"""What a reed's timeline tells of lessons: the rounds that were sent and the answers to them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Any, NamedTuple

from django.db.models import QuerySet
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.text import Truncator
from django.utils.translation import gettext as _

from lessons.answering.models import Decision
from lessons.sending.models import Submission
from reeds.reed.facts import RowsOf
from reeds.timeline.pages import Moment
from reeds.timeline.written import quiet, spoken, why
from studio.access import Seer
from studio.models import NAMING, Member, called
from studio.prepared import prepared

MOST_WORDS = 30


def rounds_and_answers(of: RowsOf, member: Member) -> Iterator[Moment]:
    """Yield each round sent and each answer sent that this member may see."""
    seen = set()
    for row in _rounds(member, of.reed.pk):
        sent = _Round._make(row[: len(_Round._fields)])
        if sent.pk not in seen:
            seen.add(sent.pk)
            yield Moment(at=sent.sent_at, shown=_sent(sent, member), by=called(sent.student, *row[-6:-3]))
        answer = _Answer._make(row[len(_Round._fields) : -6])
        if answer.sent_at:
            by = called(answer.author, *row[-3:])
            yield Moment(at=answer.sent_at, shown=_answered(sent, answer, member), by=by)


class _Round(NamedTuple):
    """What a reed's life says of a round that was sent."""

    pk: int
    round: int
    sent_at: dt.datetime
    answered_at: dt.datetime | None
    question: str
    student: int


class _Answer(NamedTuple):
    """What it says of an answer to it; begun ones have no time."""

    sent_at: dt.datetime | None
    decision: str
    next_step: str
    voice: int | None
    demonstration: int | None
    author: int | None


@prepared
def _rounds(member: Seer, reed: int) -> QuerySet[Submission, Any]:
    """Find the rounds sent, each once for every answer to it."""
    rows = (
        Submission.objects.visible_to(member).sent().filter(reed=reed).order_by("sent_at", "answers__sent_at")
    )
    answers = [f"answers__{name}" for name in _Answer._fields]
    named = [f"{who}__{name}" for who in ("student", "answers__author") for name in NAMING]
    return rows.values_list(*_Round._fields, *answers, *named)


def _sent(row: _Round, member: Member) -> SafeString:
    there = member.to("lessons:review" if member.teaches else "lessons:round", row.pk)
    waits = _("waits for an answer") if row.answered_at is None else ""
    told = _to_it(there, _("Sent, round %(n)s") % {"n": row.round})
    return spoken(told, quiet(waits), why(Truncator(row.question).words(MOST_WORDS)))


def _answered(sent: _Round, row: _Answer, member: Member) -> SafeString:
    told = _to_it(member.to("lessons:round", sent.pk), _("Answer to round %(n)s") % {"n": sent.round})
    decision = str(Decision(row.decision).label) if row.decision else ""
    beside = [_("with a spoken note")] if row.voice else []
    beside += [_("with a demonstration")] if row.demonstration else []
    along = (quiet(f"· {words}") for words in beside)
    return spoken(told, quiet(decision), *along, why(row.next_step))


def _to_it(address: str, words: str) -> SafeString:
    return format_html('<strong><a class="alone" href="{}">{}</a></strong>', address, words)
