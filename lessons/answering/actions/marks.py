"""Marks on photos and takes; the page's key makes a second try harmless."""

from __future__ import annotations

import uuid
from typing import Any

from django.db import transaction
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from lessons.answering.actions.draft import open_answer
from lessons.answering.annotation import Drawn, to_annotation
from lessons.answering.models import Answer, Mark
from lessons.answering.spans import Span, span_annotation
from reeds.photo.models.photo import Photo
from reeds.take.models import Take
from studio.errors import NotPossible

MAX_MARKS = 200


@transaction.atomic
def put_mark(answer: Answer, photo: Photo, key: uuid.UUID, drawn: Drawn) -> Mark:
    """Keep a mark; the same key again replaces it."""
    open_answer(answer)
    if not answer.submission.photos.kept().filter(pk=photo.pk).exists():
        raise NotPossible(_("This photo does not belong to what was sent."))
    _refuse_hidden(photo)
    return _keep_mark(answer, key, to_annotation(drawn, key, _language()), photo=photo)


@transaction.atomic
def put_span(answer: Answer, take: Take, key: uuid.UUID, span: Span) -> Mark:
    """Keep a span of a take with its words; the same key again replaces it."""
    open_answer(answer)
    if not answer.submission.takes.kept().filter(pk=take.pk).exists():
        raise NotPossible(_("This recording does not belong to what was sent."))
    _refuse_hidden(take)
    return _keep_mark(answer, key, span_annotation(span, key, _language()), take=take)


def _refuse_hidden(on: Photo | Take) -> None:
    """Nothing is marked on what nobody sees: an open page may still show it."""
    if words := on.reed.owner.hidden_words:
        raise NotPossible(words)


def _language() -> str:
    return get_language() or "en"


def _keep_mark(answer: Answer, key: uuid.UUID, annotation: dict[str, Any], **on: Photo | Take) -> Mark:
    if answer.marks.exclude(key=key).count() >= MAX_MARKS:
        raise NotPossible(_("There are 200 marks in this answer already."))
    where: dict[str, Photo | Take | None] = {"photo": None, "take": None, **on}
    kept, _made = Mark.objects.update_or_create(
        studio_id=answer.studio_id,
        answer=answer,
        key=key,
        defaults={"annotation": annotation, **where},
    )
    return kept


@transaction.atomic
def drop_mark(answer: Answer, key: uuid.UUID) -> None:
    """Take a mark off; one that is gone already is no error."""
    open_answer(answer)
    Mark.objects.filter(answer=answer, key=key).delete()
