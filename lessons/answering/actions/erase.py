"""What goes of answers with the photos and recordings they were about: marks, spoken notes. Words stay."""

from __future__ import annotations

from django.db.models import Q, QuerySet

from lessons.answering.models import Answer, Mark
from lessons.voice.actions import drop_notes
from reeds.photo.models.photo import Photo
from reeds.take.models import Take


def erase_marks(photos: QuerySet[Photo], takes: QuerySet[Take]) -> None:
    """Erase the marks on these."""
    Mark.objects.filter(Q(photo__in=photos) | Q(take__in=takes)).delete()


def erase_voices(answers: QuerySet[Answer]) -> None:
    """Erase the notes spoken with these answers, whatever they were found by."""
    drop_notes(Answer.objects.filter(pk__in=list(answers.values_list("pk", flat=True))))
