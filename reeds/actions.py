"""One function for each thing a person does to a reed; each is one transaction."""

from __future__ import annotations

import datetime as dt
import uuid
from dataclasses import dataclass

from django.core.files import File
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from reeds.measured import Measured
from reeds.models import EventKind, Measurement, PatternVersion, Photo, Reed, ReedEvent
from reeds.quantities import Quantity, default_u
from reeds.tasks import prepare_photo
from reeds.uploads import check_upload
from reeds.vocabulary import Method, Moisture, Stage
from studio.errors import NotPossible
from studio.models import Member

ORDER = list(Stage)
MAX_PHOTOS = 8


@transaction.atomic
def make_reeds(reed: Reed, by: Member, count: int = 1) -> list[Reed]:
    """Make `count` reeds like the unsaved `reed`, each with its own new number."""
    Member.objects.select_for_update().get(pk=reed.owner_id)  # two at once must not draw the same number
    first = Reed.objects.next_number(reed.owner)
    made = []
    for number in range(first, first + count):
        reed.pk, reed.number, reed._state.adding = None, number, True
        reed.save()
        _event(reed, by, EventKind.MADE, to_stage=reed.stage, version=reed.version)
        made.append(Reed.objects.get(pk=reed.pk))
    return made


def _event(reed: Reed, by: Member, kind: EventKind, **details: object) -> ReedEvent:
    return ReedEvent.objects.create(studio_id=reed.studio_id, reed=reed, by=by, kind=kind, **details)


@transaction.atomic
def move_stage(reed: Reed, by: Member, to_stage: Stage, at: dt.datetime | None = None, why: str = "") -> None:
    """Take a reed a step on, or back; stages can be skipped."""
    at = at or timezone.now()
    if at > timezone.now():
        raise NotPossible(_("That time has not come yet."))
    if to_stage == reed.stage:
        return  # a double tap
    back = ORDER.index(to_stage) < ORDER.index(Stage(reed.stage))
    kind = EventKind.GIVEN_UP if to_stage == Stage.GIVEN_UP else EventKind.BACK if back else EventKind.STAGE
    if kind == EventKind.GIVEN_UP and not why:
        raise NotPossible(_("Say why it is given up: that is what one learns from."))
    _event(reed, by, kind, from_stage=reed.stage, to_stage=to_stage, at=at, why=why)
    Reed.objects.filter(pk=reed.pk).update(stage=to_stage, stage_since=at)
    reed.stage, reed.stage_since = to_stage, at


@transaction.atomic
def clip(reed: Reed, by: Member, taken: Measured, at: dt.datetime | None = None) -> None:
    """Note that the tip was clipped by so much, in mm."""
    if taken.value <= 0:
        raise NotPossible(_("A clip takes something off: give it in millimetres, 0.5 for half a millimetre."))
    _event(reed, by, EventKind.CLIP, clip_mm=taken.value, clip_u=taken.u, at=at or timezone.now())


@transaction.atomic
def move_pattern(reed: Reed, by: Member, version: PatternVersion, why: str = "") -> None:
    """Move a reed to another measuring sheet; only a teacher does."""
    if not by.teaches:
        raise NotPossible(_("Only a teacher moves a reed to another measuring sheet."))
    _event(reed, by, EventKind.PATTERN, version=version, why=why)
    Reed.objects.filter(pk=reed.pk).update(version=version)
    reed.version = version


@transaction.atomic
def take_out(reed: Reed) -> None:
    """Take a reed out of every page. Its number is not used again."""
    Reed.objects.filter(pk=reed.pk).update(taken_out_at=timezone.now())


@dataclass(frozen=True)
class Entry:
    """One number or word as it was entered and read."""

    quantity: Quantity
    method: Method
    value: float | None = None
    word: str = ""
    u: float | None = None
    moisture: Moisture = Moisture.UNKNOWN


@transaction.atomic
def record(reed: Reed, by: Member, entries: list[Entry], at: dt.datetime | None = None) -> list[Measurement]:
    """Add numbers to a reed at its present stage; earlier ones stay."""
    at = at or timezone.now()
    return [Measurement.objects.create(**_row(reed, by, entry, at)) for entry in entries]


def _row(reed: Reed, by: Member, entry: Entry, at: dt.datetime) -> dict[str, object]:
    u = entry.u if entry.u is not None or entry.value is None else default_u(entry.quantity, entry.method)
    return {
        "studio_id": reed.studio_id,
        "reed": reed,
        "by": by,
        "at": at,
        "stage": reed.stage,
        "quantity": entry.quantity.key,
        "value": entry.value,
        "u": u,
        "word": entry.word,
        "method": entry.method,
        "moisture": entry.moisture,
    }


def add_photo(reed: Reed, by: Member, upload: File[bytes], key: uuid.UUID, view: str = "") -> Photo:
    """Keep an upload and have the worker prepare it; the same key twice keeps one."""
    if not by.may_send_pictures:
        raise NotPossible(_("Photos can be sent once your teacher has noted your guardian's consent."))
    there = Photo.objects.filter(reed=reed, key=key).first()
    if there:
        return there
    extension = check_upload(upload)
    upload.name = f"raw{extension}"
    with transaction.atomic():
        photo = Photo.objects.create(
            studio_id=reed.studio_id, reed=reed, by=by, key=key, view=view, raw=upload, size_bytes=upload.size
        )
        transaction.on_commit(lambda: prepare_photo.enqueue(photo.pk))
    return photo
