"""The worker prepares a note for hearing: load by id, decode, save. Running it twice is the same as once."""

from __future__ import annotations

from django_tasks import task

from lessons.voice.models import Voice
from reeds.take.settled import give_up_sound, settle_sound


@task(queue_name="sounds")
def prepare_voice(voice_id: int) -> None:
    """Decode one note and keep its sound alone, or why it cannot be read."""
    voice = Voice.objects.filter(pk=voice_id).first()
    if voice is not None:
        settle_sound(voice)


def _given_up(voice_id: int) -> None:
    for voice in Voice.objects.filter(pk=voice_id):
        give_up_sound(voice)


GIVEN_UP = {"prepare_voice": _given_up}
