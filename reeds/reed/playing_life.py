"""A reed that plays: the days it was played on, when it went soft, when it was put away."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from reeds.fields import noon_of
from reeds.numbers.words import Stage
from reeds.reed.models.reed import EventKind, Reed, ReedEvent
from studio.errors import NotPossible
from studio.models import Member

LIFE = (EventKind.PLAYED, EventKind.SOFT, EventKind.AWAY)


@dataclass(frozen=True)
class PlayingLife:
    """What was noted of a reed that plays."""

    days: int
    last_on: dt.date | None
    soft_on: dt.date | None
    away_on: dt.date | None

    @property
    def is_told(self) -> bool:
        """Whether anything was noted."""
        return bool(self.days or self.soft_on or self.away_on)


class Happening(Protocol):
    """What is read of an event here."""

    @property
    def kind(self) -> str: ...
    @property
    def at(self) -> dt.datetime: ...


def life_of(events: Iterable[Happening]) -> PlayingLife:
    """Return what a reed's standing events tell of its playing, by the days of the studio's zone."""
    days: dict[str, list[dt.date]] = {kind: [] for kind in LIFE}
    for event in events:
        if event.kind in days:
            days[event.kind].append(timezone.localdate(event.at))
    played, soft, away = (sorted(set(days[kind])) for kind in LIFE)
    last = played[-1] if played else None
    # taken up again after it was put away, it is away no more
    put_away = away[-1] if away and (last is None or last <= away[-1]) else None
    return PlayingLife(len(played), last, soft[0] if soft else None, put_away)


@transaction.atomic
def note_life(reed: Reed, by: Member, kind: EventKind, day: dt.date | None = None) -> bool:
    """Note that a reed was played, went soft or was put away on a day; False if that is noted already.

    Raises NotPossible for a reed that does not play yet or any more, and for a day that cannot be.
    """
    now = Reed.objects.select_for_update().get(pk=reed.pk)
    if now.stage != Stage.PLAYING:
        raise NotPossible(_("Only a reed that plays is noted so: take the step first."))
    when = _moment(now, day or timezone.localdate())
    if kind not in LIFE:
        raise NotPossible(_("Say whether it was played, went soft or was put away."))
    noted = now.events.standing().filter(kind=kind)
    if any(timezone.localdate(event.at) == timezone.localdate(when) for event in noted):
        return False
    ReedEvent.objects.create(studio_id=now.studio_id, reed=now, by=by, kind=kind, at=when)
    return True


def _moment(reed: Reed, day: dt.date) -> dt.datetime:
    """Now for today, else noon of the day, not before it was made."""
    today = timezone.localdate()
    if day > today:
        raise NotPossible(_("That day has not come yet."))
    if day < timezone.localdate(reed.made_at):
        raise NotPossible(_("That is before the reed was made."))
    return timezone.now() if day == today else noon_of(day, reed.made_at)
