"""A list brought in: in one transaction, once however often it is asked for, without a round or a mail."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from lessons.log.actions.look import look_over
from lessons.log.around import Understood, reeds_of
from lessons.log.found import Found
from lessons.log.models import ReedLog
from lessons.log.table.gathering import Gathering
from lessons.log.writing.homes import Home
from lessons.log.writing.lives import Lives
from lessons.log.writing.lots import make_lots
from lessons.log.writing.methods import Tools
from lessons.log.writing.moments import Clock
from lessons.log.writing.told import Told
from reeds.reed.models.reed import Reed
from reeds.sheet.models.doubt import OwnDoubt
from reeds.sheet.models.own import OwnQuantity
from reeds.sheet.models.pattern import PatternVersion
from studio.errors import NotPossible
from studio.models import Member


@dataclass(frozen=True)
class Agreed:
    """What a person said yes to: to leave out unknown columns, rows in error; to bring a file in again."""

    leave_columns: bool = False
    leave_rows: bool = False
    again: bool = False


def questions(log: ReedLog, agreed: Agreed) -> list[str]:
    """Return, in sentences, all that must be settled before a list can be brought in."""
    found, understood = Found.from_json(log.found), Understood(log)
    asked = {
        _(
            "Its days can be read two ways: choose whether the day or the month comes first."
        ): found.open_orders,
        _("Some columns are not known: choose what they are, or say that they are left out."): (
            understood.undecided and not agreed.leave_columns
        ),
        _("Some rows cannot be used: put them right in the file, or say that they are left out."): (
            found.wrong_rows and not agreed.leave_rows
        ),
        _("This very file was brought in before: say that it is to be brought in again."): (
            not agreed.again and days_of_same_file(log)
        ),
        _("Nothing would come of it: no row can be used."): (
            found.is_nothing and (agreed.leave_rows or not found.wrong_rows)
        ),
    }
    return [sentence for sentence, holds in asked.items() if holds]


def days_of_same_file(log: ReedLog) -> list[dt.date]:
    """Return the latest days on which this very file was brought in, by anybody of the studio."""
    moments = ReedLog.objects.same_file(log).order_by("-written_at").values_list("written_at", flat=True)
    return [moment.astimezone(log.studio.zone).date() for moment in moments[:3] if moment]


class _Changed(Exception):
    """Reeds were made, or the list was chosen for otherwise, after it was looked over."""


def bring_in(log: ReedLog, agreed: Agreed) -> ReedLog:
    """Make a list's reeds and numbers, all or nothing; twice is once. NotPossible: what to settle first."""
    if not log.is_waiting:
        return log
    if asked := questions(log, agreed):
        raise NotPossible(" ".join(asked))
    understood = Understood(log)
    gathering = _gathered(understood)  # the long part of reading, before anything is locked
    try:
        return _written(understood, gathering)
    except _Changed:
        ReedLog.objects.filter(pk=log.pk).update(found=look_over(log).to_json())
        raise NotPossible(
            _("Reeds were added meanwhile. Look once more at what would come of the list.")
        ) from None


def _gathered(understood: Understood) -> Gathering:
    gathering = understood.gathering()
    for _line in gathering.take(understood.reader.lines(understood.log.rows())):
        pass
    return gathering


@transaction.atomic
def _written(understood: Understood, gathering: Gathering) -> ReedLog:
    log = ReedLog.objects.select_for_update().get(pk=understood.log.pk)
    if not log.is_waiting:
        return log
    if len(gathering.by_row) + gathering.wrong_rows != log.row_count:
        raise NotPossible(_("The rows of this list are kept no longer: choose the file once more."))
    # nobody draws the same numbers meanwhile
    list(Member.objects.select_for_update().filter(pk__in={one.owner for one in gathering.reeds}))
    if log.choices != understood.log.choices or reeds_of(log) != understood.around.reeds:
        raise _Changed
    log.made, log.written_at = _write(understood, gathering), timezone.now()
    log.let_go_of_rows()
    log.save()
    return log


def _write(understood: Understood, gathering: Gathering) -> dict[str, int]:
    """Write it all; return how many of what were made."""
    log = understood.log
    clock = Clock(log.studio.zone, timezone.now())
    lots, new_lots = make_lots(log, gathering.reeds)
    versions = PatternVersion.objects.filter(studio=log.studio_id).order_by("number")
    by_sheet = dict(versions.values_list("pattern", "pk"))  # the newest, also of a sheet put away meanwhile
    lives = Lives(log, clock, lots, understood.around.sheets, by_sheet, log.chosen.sheet or 0)
    homes = _homes(gathering, lives.make(gathering.reeds))
    tools = Tools(OwnDoubt.objects.of(log.studio_id))
    own = dict(OwnQuantity.objects.filter(studio=log.studio_id).values_list("key", "pk"))
    told = Told(log, clock, tools, own)
    for line in understood.reader.lines(log.rows()):
        if line.row in gathering.by_row:
            told.take(line, homes[gathering.by_row[line.row]])
    told.flush()
    return {
        "reeds": sum(one.there is None for one in gathering.reeds),
        "added_to": sum(one.there is not None for one in gathering.reeds),
        "numbers": told.numbers,
        "tests": told.tests,
        "notes": told.notes,
        "lots": new_lots,
        "left_out": gathering.wrong_rows,
    }


def _homes(gathering: Gathering, made: Mapping[int, Home]) -> list[Home]:
    """Return the reed of each that was gathered, the new ones and those that were there."""
    there = Reed.objects.in_bulk([one.there for one in gathering.reeds if one.there is not None])
    return [
        made[place] if one.there is None else Home(one.there, one, there[one.there].made_at)
        for place, one in enumerate(gathering.reeds)
    ]
