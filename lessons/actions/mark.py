"""Marks on the photos of a round: put, changed, dropped. The page's key makes every second try harmless."""

from __future__ import annotations

import uuid

from django.db import transaction
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from lessons.actions.answer import open_answer
from lessons.annotation import Drawn, to_annotation
from lessons.models import Answer, Mark
from reeds.models import Photo
from studio.errors import NotPossible

MAX_MARKS = 200


@transaction.atomic
def put_mark(answer: Answer, photo: Photo, key: uuid.UUID, drawn: Drawn) -> Mark:
    """Keep a mark; the same key again replaces it."""
    open_answer(answer)
    if not answer.submission.photos.kept().filter(pk=photo.pk).exists():
        raise NotPossible(_("This photo does not belong to what was sent."))
    if answer.marks.exclude(key=key).count() >= MAX_MARKS:
        raise NotPossible(_("There are 200 marks on these photos already."))
    annotation = to_annotation(drawn, key, get_language() or "en")
    kept, _made = Mark.objects.update_or_create(
        answer=answer,
        key=key,
        defaults={"studio_id": answer.studio_id, "photo": photo, "annotation": annotation},
    )
    return kept


@transaction.atomic
def drop_mark(answer: Answer, key: uuid.UUID) -> None:
    """Take a mark off; one that is gone already is no error."""
    open_answer(answer)
    Mark.objects.filter(answer=answer, key=key).delete()
