"""Rounds that were sent, what the checks said of them, answers with their notes on photos, replies."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from django.conf import settings
from django.utils.translation import gettext

from lessons.answering.annotation import exported
from lessons.answering.models import Answer, Decision, Mark, Reply
from lessons.export.gathering.scope import Rows, Scope
from lessons.export.gathering.source import (
    AT_ONCE,
    ID,
    Cells,
    Computed,
    Source,
    link,
    moment,
    of_reed,
    person,
    plain,
    word,
)
from lessons.export.packing.shapes import Column, Kind, Shape
from lessons.sending.models import Submission
from reeds.checks.findings import Finding, Outcome, spread
from reeds.numbers.words import gettext_noop as _
from reeds.reed.models.reed import STAGE_CHOICES
from reeds.wording import filled

ROUNDS = Source(
    name="rounds",
    said=_("One row for each round of a reed that was sent; one's own draft has no time of sending."),
    model=Submission,
    when="sent_at",
    reed="reed",
    fields=(
        ID,
        of_reed(),
        plain("round", _("which round of its reed, from 1"), Kind.WHOLE),
        moment("started_at", _("when it was begun")),
        moment("sent_at", _("when it was sent")),
        word("at_stage", _("where the reed stood then"), STAGE_CHOICES, path="stage"),
        link("sheet_id", "sheets", _("by which sheet it was checked"), path="version"),
        link("playing_test_id", "playing_tests", _("the playing test sent with it"), path="playing_test"),
        plain("question", _("what was asked")),
        moment("answered_at", _("when it was answered")),
        link("answered_with", "rounds", _("the newer round it was answered with"), path="answered_with"),
        moment("read_at", _("when its student read the answer last")),
        plain("draft", _("what was typed and not sent yet"), Kind.NESTED),
    ),
)


def _part(name: str, said: str, table: str, field: str, what: str) -> Source:
    """One row for each photo, take or number that was sent with a round."""
    through = getattr(Submission, table).through

    def taken(scope: Scope) -> Rows:
        rows: Rows = through._default_manager.all()
        return rows.filter(submission__in=Submission.objects.visible_to(scope.member))

    return Source(
        name=name,
        said=said,
        model=through,
        taken=taken,
        when="submission__sent_at",
        reed="submission__reed",
        fields=(
            link("round_id", "rounds", _("the round"), path="submission"),
            link(f"{field}_id", what, _("what went along"), path=field),
        ),
    )


PARTS = (
    _part("round_photos", _("Which photos went along with a round."), "photos", "photo", "photos"),
    _part("round_takes", _("Which recordings went along with a round."), "takes", "take", "takes"),
)

FOUND = Shape(
    "findings",
    _("One row for each finding as it was shown when a round was sent."),
    (
        Column("round_id", _("its round"), Kind.WHOLE),
        Column("reed_id", _("its reed"), Kind.WHOLE),
        Column("student", _("whose reed it is")),
        Column("reed", _("the reed's number"), Kind.WHOLE),
        Column("sent_at", _("when the round was sent"), Kind.MOMENT),
        Column("check", _("what was checked")),
        Column("quantity", _("the quantity it is about: a key of quantities.csv")),
        Column("outcome", _("what came of it"), words=tuple((one.value, one.label) for one in Outcome)),
        Column("value", _("the number, in the quantity's unit"), Kind.NUMBER),
        Column("u", _("its standard uncertainty"), Kind.NUMBER),
        Column("low_limit", _("low limit"), Kind.NUMBER),
        Column("aim", _("aim"), Kind.NUMBER),
        Column("high_limit", _("high limit"), Kind.NUMBER),
        Column("choice", _("what was seen, where it is a choice")),
        Column("said", _("the sentence")),
        Column("next_step", _("the next step that was shown")),
        Column("caution", _("the caution that was shown")),
        Column("rests_on", _("what the check and its limits rest on")),
    ),
    leads={"round_id": "rounds", "reed_id": "reeds"},
)


def _found(scope: Scope) -> Iterator[Cells]:
    rows = Submission.objects.visible_to(scope.member).filter(sent_at__isnull=False).exclude(findings=[])
    rows = scope.narrowed(rows, when="sent_at", whose="student").order_by("pk")
    told = rows.values_list("pk", "reed", "sent_at", "findings")
    for pk, reed, sent_at, findings in told.iterator(chunk_size=500):
        if reed in scope.reeds:
            here = scope.reeds[reed]
            head = (pk, reed, scope.names.get(here.owner, ""), here.number, scope.local(sent_at))
            for one in spread(Finding.from_json(row) for row in findings):
                yield [*head, *_said(one)]


def _said(one: Finding) -> Cells:
    told = (one.check, one.quantity, one.outcome.value, one.value, one.u, one.low, one.aim, one.high)
    sentence = filled(one.message, one.params)
    return (*told, one.choice, sentence, *map(_worded, (one.next_step, one.caution, one.source)))


def _worded(sentence: str) -> str:
    return gettext(sentence) if sentence else ""


FINDINGS = Computed(shape=FOUND, models=(Submission,), made=_found)


def answers_of(scope: Scope) -> Rows:
    """Return the answers that were sent, and one's own that were not yet."""
    return Answer.objects.visible_to(scope.member).seen_by(scope.member)


ANSWERS = Source(
    name="answers",
    said=_("One row for each answer; a teacher's own draft has no time of sending."),
    model=Answer,
    taken=answers_of,
    when="sent_at",
    reed="submission__reed",
    fields=(
        ID,
        link("round_id", "rounds", _("the round it answers"), path="submission"),
        of_reed("submission__reed"),
        person("by", _("who answered"), path="author"),
        moment("sent_at", _("when")),
        plain("words", _("the words")),
        word("decision", _("what is to become of the reed"), Decision.choices),
        plain("next_step", _("the one next step")),
        plain("caution", _("the caution")),
        link("demonstration_id", "demonstrations", _("what was shown along with it"), path="demonstration"),
        link("voice_id", "voices", _("what was said along with it"), path="voice"),
    ),
)

REPLIES = Source(
    name="replies",
    said=_("One row for each thing said back after an answer."),
    model=Reply,
    when="at",
    reed="submission__reed",
    fields=(
        ID,
        link("round_id", "rounds", _("the round"), path="submission"),
        of_reed("submission__reed"),
        person("by", _("who said it")),
        moment("at", _("when")),
        plain("words", _("the words")),
        moment("read_at", _("when the other side read it")),
    ),
)

TABLES = (ROUNDS, *PARTS, FINDINGS, ANSWERS, REPLIES)

# --- notes on photos and recordings -------------------------------------------------------------------

Paths = Mapping[tuple[str, int], str]


def marks(scope: Scope, paths: Paths) -> Iterator[dict[str, Any]]:
    """Yield each note that may be seen; `paths` says by table and id where a file lies in the export."""
    rows = Mark.objects.visible_to(scope.member).on_what_is_kept().filter(answer__in=answers_of(scope))
    rows = scope.narrowed(rows, when="made_at", whose="answer__submission__student").order_by("pk")
    for mark in rows.select_related("answer__submission").iterator(chunk_size=AT_ONCE):
        if mark.answer.submission.reed_id in scope.reeds:
            yield _exported(mark, scope, paths)


def _exported(mark: Mark, scope: Scope, paths: Paths) -> dict[str, Any]:
    table, pk = ("takes", mark.take_id) if mark.take_id else ("photos", mark.photo_id or 0)
    name, *size = ("reeds:take_sound",) if mark.take_id else ("reeds:photo", "upright")
    source = settings.SITE_ADDRESS + scope.member.to(name, pk, *size)
    made = mark.made_at.isoformat().replace("+00:00", "Z")
    maker = scope.names.get(mark.answer.author_id, "")
    told = exported(mark.annotation, source=source, creator=maker, created=made)
    return _with_copy(told, paths.get((table, pk), ""))


def _with_copy(annotation: dict[str, Any], path: str) -> dict[str, Any]:
    """Source: W3C 'Web Annotation Data Model', 23 February 2017, 4.3.1 (Time State, cached)."""
    if not path:
        return annotation
    target = {**annotation["target"], "state": {"type": "TimeState", "cached": path}}
    return {**annotation, "target": target}
