"""What goes of answers with the photos and recordings they were about: marks, spoken notes. Words stay."""

from __future__ import annotations

from django.db import transaction
from django.db.models import Q, QuerySet

from lessons.answering.models import Answer, Mark
from lessons.voice.actions import drop_unheld
from lessons.voice.models import Voice
from reeds.reed.models.reed import Reed


@transaction.atomic
def erase_marks_and_voices(reeds: QuerySet[Reed]) -> None:
    """Erase the marks on photos and recordings of these reeds, and the notes spoken of them.

    A note that went to several reeds stays with the others.
    """
    Mark.objects.filter(Q(photo__reed__in=reeds) | Q(take__reed__in=reeds)).delete()
    spoken = Answer.objects.filter(submission__reed__in=reeds, voice__isnull=False)
    voices = list(Voice.objects.filter(pk__in=spoken.values("voice")))
    spoken.update(voice=None)
    for voice in voices:
        drop_unheld(voice)
