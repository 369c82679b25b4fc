"""The worker prepares a demonstration: load by id, decode, save. Running it twice is the same as once."""

from __future__ import annotations

from django_tasks import task

from lessons.demonstration.models import Demonstration
from reeds.photo.settled import give_up_photo, settle_photo
from reeds.take.settled import give_up_sound, settle_sound


@task()
def prepare_demonstration(demonstration_id: int) -> None:
    """Make the copies of its photo and of its recording that are served."""
    row = Demonstration.objects.filter(pk=demonstration_id).first()
    if row is not None:
        settle_photo(row)
        settle_sound(row)


def _given_up(demonstration_id: int) -> None:
    for row in Demonstration.objects.filter(pk=demonstration_id):
        give_up_photo(row)
        give_up_sound(row)


GIVEN_UP = {"prepare_demonstration": _given_up}
