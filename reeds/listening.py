"""The worker listens to a take: load by id, measure, save. Running it twice is the same as once."""

from __future__ import annotations

from typing import BinaryIO, cast

from django_tasks import task

from reeds.models import Take, TakeState
from reeds.sound.decode import Take as Decoded
from reeds.sound.decode import decode_take
from reeds.sound.drawing import drawn
from reeds.sound.measure import measure_take
from reeds.sound.notes import parse_note
from reeds.sound.report import as_json
from reeds.sound.tracks import tracks_of
from reeds.words import gettext_noop

GONE = gettext_noop("The file of this recording is gone. Record it again.")


@task()
def listen(take_id: int) -> None:
    """Measure one take and keep what was heard, or why it cannot be read."""
    take = Take.objects.kept().filter(pk=take_id, state=TakeState.WAITING).first()
    if take is None:
        return  # heard already, or taken back meanwhile
    Take.objects.filter(pk=take.pk, state=TakeState.WAITING).update(**_heard(take))


def _heard(take: Take) -> dict[str, object]:
    """Return the columns of the take when it was listened to (the page translates a refusal)."""
    try:
        with take.file.open("rb") as file:
            decoded = decode_take(cast("BinaryIO", file))  # a FieldFile reads and seeks like one
        return {
            "state": TakeState.READY,
            "result": _measured(take, decoded),
            "tracks": drawn(tracks_of(decoded)),
        }
    except (FileNotFoundError, ValueError) as refusal:
        return {"state": TakeState.REFUSED, "refusal": GONE if isinstance(refusal, OSError) else str(refusal)}


def _measured(take: Take, decoded: Decoded) -> dict[str, object]:
    expect = [parse_note(note) for note in take.notes] or None
    # on one repeated note the count and the evenness are the item's, so none is expected by name
    wanted = None if take.item in ("staccato", "crow", "long_tone") else expect
    return as_json(measure_take(decoded, a4_hz=take.a4_hz, item=take.item, expect=wanted))
