"""A spoken note that goes along with an answer: put into the draft, dropped from it."""

from __future__ import annotations

import uuid

from django.core.files import File
from django.db import transaction

from lessons.answering.actions.draft import open_answer
from lessons.answering.models import Answer
from lessons.voice.actions import add_voice, drop_unheld
from lessons.voice.models import Voice
from studio.errors import NotPossible


def put_voice(answer: Answer, upload: File[bytes], key: uuid.UUID) -> Voice:
    """Keep a note in a draft, in the place of the one before; the same key twice keeps one."""
    with transaction.atomic():
        open_answer(answer)
    voice = add_voice(answer.author, upload, key)
    try:
        _hold(answer, voice)
    except NotPossible:  # the answer was sent meanwhile from another window
        _drop(voice)
        raise
    voice.refresh_from_db()  # a worker may be quick
    return voice


@transaction.atomic
def drop_voice(answer: Answer) -> None:
    """Take the note out of a draft, or out of a sent answer if nobody can hear it; twice is once."""
    voice = Voice.objects.filter(answers=answer.pk).first()
    if voice and voice.sound_is_refused:
        Answer.objects.filter(voice=voice).update(voice=None)
        drop_unheld(voice)
    else:
        _hold(answer, None)


@transaction.atomic
def _hold(answer: Answer, voice: Voice | None) -> None:
    before = open_answer(answer).voice
    Answer.objects.filter(pk=answer.pk).update(voice=voice)
    if before and before != voice:
        drop_unheld(before)


@transaction.atomic
def _drop(voice: Voice) -> None:
    drop_unheld(voice)
