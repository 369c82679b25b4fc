"""The worker listens to a take: load by id, measure, save. Running it twice is the same as once."""

from __future__ import annotations

from django.apps import apps
from django.db import transaction
from django.utils import timezone
from django_tasks import task

from reeds.apart import NOT_DONE, apart
from reeds.numbers.words import Refused
from reeds.reed.models.measurement import Measurement
from reeds.take.heard_by_all import HeardByAll
from reeds.take.models import Take, TakeState
from reeds.take.settled import GONE, add_mp3, drop_unkept, write_mp3, write_plain
from reeds.take.told import readings_of
from studio.files import drop_upload

HEAR = "reeds.take.sound.jobs:hear"


@task(queue_name="sounds")
def listen(take_id: int) -> None:
    """Measure one take, keep what was heard or why it cannot be read, and delete the upload as it came.

    The copy's name follows from the upload's, so a run that was killed in the middle is written over by the
    next one; the row is changed after the copy is there, the upload goes after the row.
    """
    take = Take.objects.filter(pk=take_id).select_related("reed").first()
    if take is None or not take.raw:
        return  # all done before
    if take.is_waiting and take.taken_back_at is None:
        _settle(take, _heard(take))
    drop_upload(take, "raw")


@task(queue_name="sounds")
def make_mp3(label: str, pk: int) -> None:
    """Make the MP3 of a sound that was kept before there were any, be it a take, a note or shown to all."""
    row = apps.get_model(label)._default_manager.filter(pk=pk).first()
    if isinstance(row, HeardByAll):
        add_mp3(row)


def _heard(take: Take) -> dict[str, object]:
    """Return the columns of the take when it was listened to (the page translates a refusal)."""
    try:
        with take.raw.open("rb") as file:
            done = apart(HEAR, file.read(), take.a4_hz, take.item, list(take.notes))
    except (FileNotFoundError, Refused) as refusal:
        return {"state": TakeState.REFUSED, "refusal": GONE if isinstance(refusal, OSError) else str(refusal)}
    kept = write_plain(take.raw, done.pop("copy"))
    mp3 = write_mp3(take.raw, done.pop("mp3"))
    return {
        "file": kept.name,
        "content_type": kept.content_type,
        "size_bytes": kept.size_bytes,
        "mp3": mp3,
        "state": TakeState.READY,
        "heard_at": timezone.now(),
        **done,
    }


@transaction.atomic
def _settle(take: Take, columns: dict[str, object]) -> None:
    waiting = Take.objects.kept().filter(pk=take.pk, state=TakeState.WAITING)
    if waiting.update(**columns):
        _keep_numbers(Take.objects.select_related("reed").get(pk=take.pk))
        return
    drop_unkept(take, columns, "file")  # taken back meanwhile, or another run was quicker


def _keep_numbers(take: Take) -> None:
    """Keep what the take says of the registry's quantities as numbers of the reed, once a take."""
    for reading in readings_of(take):
        measured = reading.measured
        Measurement.objects.get_or_create(
            studio_id=take.studio_id,
            reed=take.reed,
            quantity=reading.quantity,
            key=take.key,
            defaults={
                "value": measured.value if measured else None,
                "u": measured.u if measured else None,
                "word": reading.choice,
                "method": reading.method,
                "moisture": reading.moisture,
                "stage": take.stage or take.reed.stage,
                "by_id": take.by_id,
                "at": take.at,
                "take": take,
            },
        )


def _given_up(take_id: int) -> None:
    rows = Take.objects.filter(pk=take_id)
    rows.filter(state=TakeState.WAITING).update(state=TakeState.REFUSED, refusal=NOT_DONE)
    for take in rows.exclude(raw=""):
        drop_upload(take, "raw")


GIVEN_UP = {"listen": _given_up, "make_mp3": None}
