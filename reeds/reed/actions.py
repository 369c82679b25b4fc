"""One function for each thing a person does to a reed; each is one transaction."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from reeds.checks.experiments import MOST_STROKES, Strokes
from reeds.numbers.measured import Measured
from reeds.numbers.quantity import Quantity
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import Method, Moisture, Stage
from reeds.reed.models.knife import Knife
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.reed import CUTS, EventKind, Reed, ReedEvent
from reeds.sheet.models.doubt import OwnDoubt
from reeds.sheet.models.own import OwnQuantity
from reeds.sheet.models.pattern import PatternVersion
from studio.access import StudioRow
from studio.errors import NotPossible
from studio.models import Member


@transaction.atomic
def make_reeds(reed: Reed, by: Member, count: int = 1, first: int | None = None) -> list[Reed]:
    """Make `count` reeds like the unsaved `reed`, each with a new number; a batch sent twice makes once.

    They are numbered from `first` on where one was chosen, else after the highest.
    """
    Member.objects.select_for_update().get(pk=reed.owner_id)  # two at once must not draw the same number
    there = list(Reed.objects.filter(owner=reed.owner_id, batch=reed.batch).order_by("number"))
    if len(there) == count and all(_alike(one, reed) for one in there) and first in (None, there[0].number):
        return there
    if there:  # the page was gone back to, and something else was asked for
        reed.batch = uuid.uuid4()
    _not_to_come(reed.made_at)
    begin = _still_free(reed.owner, first, count) if first else Reed.objects.next_number(reed.owner)
    for number in range(begin, begin + count):
        reed.pk, reed.number, reed._state.adding = None, number, True
        reed.save()
        _event(reed, by, EventKind.MADE, to_stage=reed.stage, version=reed.version, at=reed.made_at)
    return list(Reed.objects.filter(owner=reed.owner_id, batch=reed.batch).order_by("number"))


def _still_free(owner: Member, first: int, count: int) -> int:
    """Return `first`, or say which of the numbers from it on was used before."""
    used = Reed.objects.filter(owner=owner, number__range=(first, first + count - 1)).order_by("number")
    if one := used.first():
        raise NotPossible(_("The number %d was used before, and a number is never used twice.") % one.number)
    return first


MADE_OF = ("version_id", "cane_id", "shape", "staple", "staple_length", "flexibility", "is_model")


def _alike(one: Reed, other: Reed) -> bool:
    return all(getattr(one, name) == getattr(other, name) for name in MADE_OF)


def _event(reed: Reed, by: Member, kind: EventKind, **details: object) -> ReedEvent:
    return ReedEvent.objects.create(studio_id=reed.studio_id, reed=reed, by=by, kind=kind, **details)


def _not_to_come(at: dt.datetime) -> None:
    if at > timezone.now():
        raise NotPossible(_("That time has not come yet."))


def _when(reed: Reed, at: dt.datetime | None) -> dt.datetime:
    """Return the moment meant: now if none was given; refuse one to come and one before it was made."""
    if at is None:
        return timezone.now()
    _not_to_come(at)
    if at < _minute(reed.made_at):
        raise NotPossible(_("That is before the reed was made, on %s.") % _shown(reed.made_at))
    return max(at, reed.made_at)


def _minute(at: dt.datetime) -> dt.datetime:
    """A page tells times to the minute, so they are compared to the minute."""
    return at.replace(second=0, microsecond=0)


def _shown(at: dt.datetime) -> str:
    return date_format(timezone.localtime(at), "SHORT_DATETIME_FORMAT")


def _kind_of_step(from_stage: Stage, to_stage: Stage) -> EventKind:
    if to_stage is Stage.GIVEN_UP:
        return EventKind.GIVEN_UP
    return EventKind.BACK if to_stage.order < from_stage.order else EventKind.STAGE


@transaction.atomic
def move_stage(reed: Reed, by: Member, to_stage: Stage, at: dt.datetime | None = None, why: str = "") -> None:
    """Take a reed a step on, or back; stages can be skipped. `reed` is brought up to date."""
    now = Reed.objects.select_for_update().get(pk=reed.pk)
    if to_stage != now.stage:  # else a double tap
        kind, when = _kind_of_step(Stage(now.stage), to_stage), _step_time(now, at)
        if kind == EventKind.GIVEN_UP and not why.strip():
            raise NotPossible(_("Say why it is given up: that is what one learns from."))
        _event(reed, by, kind, from_stage=now.stage, to_stage=to_stage, at=when, why=why.strip())
        _stand_at(now, to_stage, when)
    reed.stage, reed.stage_since = now.stage, now.stage_since


def _step_time(reed: Reed, at: dt.datetime | None) -> dt.datetime:
    when = _when(reed, at)
    if when < _minute(reed.stage_since):
        raise NotPossible(_("That is before its last step, on %s.") % _shown(reed.stage_since))
    return max(when, reed.stage_since)


def _stand_at(reed: Reed, stage: str, since: dt.datetime) -> None:
    reed.stage, reed.stage_since = stage, since
    reed.save(update_fields=["stage", "stage_since"])


@transaction.atomic
def clip(
    reed: Reed, by: Member, taken: Measured, at: dt.datetime | None = None, key: uuid.UUID | None = None
) -> None:
    """Note that the tip was clipped by so much, in mm; the same key twice is one clip."""
    if taken.value <= 0:
        raise NotPossible(_("A clip takes something off: give it in millimetres, 0.5 for half a millimetre."))
    if Stage(reed.stage).order < Stage.TIED.order:
        raise NotPossible(_("Only a reed that is tied can be clipped: take the step first."))
    there = reed.events.filter(key=key).first() if key else None
    if there and there.clip == taken:
        return
    fresh = uuid.uuid4() if there or key is None else key
    details = {"clip_mm": taken.value, "clip_u": taken.u, "at": _when(reed, at)}
    _event(reed, by, EventKind.CLIP, key=fresh, **details)


@transaction.atomic
def scrape_a_little(
    reed: Reed, by: Member, done: Strokes, at: dt.datetime | None = None, key: uuid.UUID | None = None
) -> None:
    """Note strokes that were taken, with their count and place; the same key twice is once."""
    if not Stage(reed.stage).is_scraped:
        raise NotPossible(_("Only a reed that is scraped can be scraped on: take the step first."))
    if not 0 < done.count <= MOST_STROKES:
        raise NotPossible(_("Say how many strokes, from 1 to %d.") % MOST_STROKES)
    there = reed.events.filter(key=key).first() if key else None
    if there and there.scraped == done:
        return
    fresh = uuid.uuid4() if there or key is None else key
    place = {"strokes": done.count, "side": done.side, "blade": done.blade, "zone": done.zone}
    _event(reed, by, EventKind.SCRAPE, key=fresh, at=_when(reed, at), **place)


# what can be taken back wherever it stands in a life
SLIPS = (*CUTS, EventKind.PLAYED, EventKind.SOFT, EventKind.AWAY)
STEPS = (EventKind.STAGE, EventKind.BACK, EventKind.GIVEN_UP)


@transaction.atomic
def take_back(event: ReedEvent, by: Member) -> None:
    """Take back a slip of the finger: a clip, strokes, or the last step; the row stays and counts no more."""
    if event.taken_back_at is not None:
        return
    if event.by_id != by.pk and not by.teaches:
        raise NotPossible(_("Only who noted it, or a teacher, takes it back."))
    if event.kind not in SLIPS:
        _step_back(event)
    ReedEvent.objects.filter(pk=event.pk).update(taken_back_at=timezone.now())


def _step_back(event: ReedEvent) -> None:
    """Put the reed where it stood before its last step, with the rest it had there."""
    reed = Reed.objects.select_for_update().get(pk=event.reed_id)
    steps = reed.events.standing().exclude(to_stage="").order_by("-at", "-pk")
    if event.kind not in STEPS or event != steps.first():
        raise NotPossible(_("Only a clip, strokes or the last step can be taken back."))
    _stand_at(reed, event.from_stage, steps[1].at)


@transaction.atomic
def move_pattern(reed: Reed, by: Member, version: PatternVersion, why: str = "") -> None:
    """Move a reed to another measuring sheet; only a teacher does."""
    if not by.teaches:
        raise NotPossible(_("Only a teacher moves a reed to another measuring sheet."))
    if version.pk == reed.version_id:
        return  # a double tap
    _event(reed, by, EventKind.PATTERN, version=version, why=why)
    Reed.objects.filter(pk=reed.pk).update(version=version)
    reed.version = version


@transaction.atomic
def put_right(reed: Reed, by: Member, changed: Sequence[str]) -> None:
    """Keep what was put right about a reed (names of its fields), and note it in its life."""
    reed.save(update_fields=[*changed])
    if "flexibility" in changed:
        _event(reed, by, EventKind.FEEL, feel=reed.flexibility)
    rest = [
        str(field.verbose_name)
        for field in Reed._meta.fields
        if field.name in changed and field.name != "flexibility"
    ]
    if rest:
        _event(reed, by, EventKind.NOTE, why=_("Put right: %s.") % ", ".join(rest))


@transaction.atomic
def take_out(reed: Reed) -> None:
    """Take a reed out of every page. Its number is not used again."""
    Reed.objects.filter(pk=reed.pk, taken_out_at__isnull=True).update(taken_out_at=timezone.now())


@dataclass(frozen=True)
class Entry:
    """One number or word as it was entered and read."""

    quantity: Quantity
    method: Method
    value: float | None = None
    word: str = ""
    u: float | None = None
    moisture: Moisture = Moisture.UNKNOWN
    photo: StudioRow | None = None
    computed_from: str = ""


@transaction.atomic
def record(
    reed: Reed,
    by: Member,
    entries: list[Entry],
    at: dt.datetime | None = None,
    key: uuid.UUID | None = None,
) -> list[Measurement]:
    """Add numbers to a reed, at the stage it stood at then; earlier ones stay.

    The same key twice adds them once.
    """
    there = list(reed.measurements.filter(key=key).order_by("pk")) if key else []
    if there and [_said(row) for row in there] == [_said(entry) for entry in entries]:
        return there
    # with other numbers under the same key, the page was gone back to: they are new ones
    when = _when(reed, at)
    stage = reed.stage if at is None else _stage_at(reed, when)
    more = {"at": when, "stage": stage, "key": uuid.uuid4() if there or key is None else key}
    doubts = OwnDoubt.objects.of(reed.studio_id) if entries else {}
    own = _own_of(reed, entries)
    return [
        Measurement.objects.create(**_row(reed, by, entry, doubts), own=own.get(entry.quantity.key), **more)
        for entry in entries
    ]


def _own_of(reed: Reed, entries: list[Entry]) -> dict[str, OwnQuantity]:
    """The studio's own rows among what was entered, by key."""
    keys = [entry.quantity.key for entry in entries if entry.quantity.key not in QUANTITIES]
    if not keys:
        return {}
    return {row.key: row for row in OwnQuantity.objects.filter(studio=reed.studio_id, key__in=keys)}


def _stage_at(reed: Reed, when: dt.datetime) -> str:
    """Return how far a reed was at a time; its present stage if nothing is known of it then."""
    steps = reed.events.standing().exclude(to_stage="").filter(at__lte=when)
    return steps.order_by("-at", "-pk").values_list("to_stage", flat=True).first() or reed.stage


def _said(one: Entry | Measurement) -> tuple[str, float | None, str, str, str]:
    key = one.quantity if isinstance(one, Measurement) else one.quantity.key
    return key, one.value, one.word, one.method, one.moisture


def _row(reed: Reed, by: Member, entry: Entry, doubts: Mapping[Method, float]) -> dict[str, object]:
    u = entry.u
    if u is None and entry.value is not None:
        u = entry.quantity.default_u(entry.method, doubts)
    return {
        "studio_id": reed.studio_id,
        "reed": reed,
        "by": by,
        "quantity": entry.quantity.key,
        "value": entry.value,
        "u": u,
        "word": entry.word,
        "method": entry.method,
        "moisture": entry.moisture,
        "photo": entry.photo,
        "computed_from": entry.computed_from,
    }


@transaction.atomic
def name_reference(reed: Reed) -> None:
    """Make this the good reed that the player's recordings are compared with: one that can be played."""
    if not Stage(reed.stage).is_played:
        raise NotPossible(_("Only a reed that plays can be the one to compare with. This one is not so far."))
    Reed.objects.filter(owner=reed.owner_id, is_reference=True).update(is_reference=False)
    Reed.objects.filter(pk=reed.pk).update(is_reference=True)


def forget_reference(reed: Reed) -> None:
    """Compare recordings with this reed no more."""
    Reed.objects.filter(pk=reed.pk).update(is_reference=False)


def sharpened(owner: Member, day: dt.date | None = None) -> None:
    """Keep the day on which somebody's knife was sharpened last; None for today."""
    kept = {"sharpened_on": day or timezone.localdate()}
    Knife.objects.update_or_create(studio_id=owner.studio_id, owner=owner, defaults=kept)
