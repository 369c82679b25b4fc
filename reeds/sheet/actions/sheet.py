"""One function for each thing a teacher does to a measuring sheet; each is one transaction."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from django.db import transaction
from django.db.models import Model
from django.utils import timezone
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from reeds.checks.sheet import Limit, Sheet, SheetError
from reeds.sheet.models.own import OwnQuantity
from reeds.sheet.models.pattern import Offset, Pattern, PatternVersion
from reeds.sheet.playing_items import PlayingItem, to_json
from reeds.sheet.starters import STARTERS
from reeds.wording import say
from studio.errors import NotPossible
from studio.models import Member, Studio


def in_order(sheet: Sheet) -> Sheet:
    """Return the sheet with its rows in the order of the registry, and within it by staple and feel."""
    places = {key: place for place, key in enumerate(sheet.known)}

    def place(row: Limit) -> tuple[int, float, str]:
        return places[row.quantity], row.staple or 0.0, row.flexibility or ""

    return replace(sheet, limits=tuple(sorted(sheet.limits, key=place)))


def _locked(row: type[Model], pk: int) -> None:
    row._default_manager.select_for_update().get(pk=pk)


@transaction.atomic
def give_starters(studio: Studio) -> None:
    """Give a studio that has no measuring sheet yet the starter ones; called as often as one likes."""
    _locked(Studio, studio.pk)
    if Pattern.objects.filter(studio=studio).exists():
        return
    for style, sheet in STARTERS.items():
        pattern = Pattern.objects.create(studio=studio, name=capfirst(_(style.label)), style=style)
        _version(pattern, 1, sheet, None, _("the starter sheet"))


def ready_for(member: Member) -> None:
    """See to it that the member's studio has a sheet to make reeds by; cheap once it has."""
    if not Pattern.objects.filter(studio=member.studio_id).exists():
        give_starters(member.studio)


def _version(
    pattern: Pattern, number: int, sheet: Sheet, by: Member | None, why: str, playing: object = None
) -> PatternVersion:
    return PatternVersion.objects.create(
        studio_id=pattern.studio_id,
        pattern=pattern,
        number=number,
        data=in_order(sheet).to_json(),
        playing=playing or [],
        why=why,
        made_by=by,
    )


def _free_name(studio_id: int, name: str, but: int = 0) -> str:
    """Return the name if no other sheet of the studio has it."""
    same = Pattern.objects.filter(studio=studio_id, name__iexact=name.strip()).exclude(pk=but)
    if same.exists():
        raise NotPossible(_("There is a measuring sheet of this name already, perhaps put away."))
    return name.strip()


class ChangedMeanwhile(NotPossible):
    """Somebody saved a version while this one was being written."""


@transaction.atomic
def new_pattern(by: Member, name: str, sheet: Sheet, why: str, playing: object = None) -> Pattern:
    """Begin a measuring sheet from a starter or from another one, with its playing test."""
    _locked(Studio, by.studio_id)
    pattern = Pattern.objects.create(
        studio_id=by.studio_id, name=_free_name(by.studio_id, name), style=sheet.style
    )
    _version(pattern, 1, sheet, by, why, playing)
    return pattern


def _seen(pattern: Pattern, number: int) -> PatternVersion:
    """Return the current version if it is the one that was seen."""
    current = pattern.current
    if current.number != number:
        raise ChangedMeanwhile(
            _("%(who)s saved version %(number)s meanwhile. Look at it, then save again to replace it.")
            % {"who": current.made_by or _("Somebody"), "number": current.number}
        )
    return current


@transaction.atomic
def change_sheet(pattern: Pattern, by: Member, sheet: Sheet, why: str, seen: int) -> PatternVersion | None:
    """Make the next version; None if nothing changed. `seen` is the version that was being changed."""
    _locked(Pattern, pattern.pk)
    current = _seen(pattern, seen)
    if in_order(current.sheet) == in_order(sheet):
        return None
    return _version(pattern, current.number + 1, sheet, by, why, current.playing)


@transaction.atomic
def change_test(
    pattern: Pattern, by: Member, items: Sequence[PlayingItem], why: str, seen: int
) -> PatternVersion | None:
    """Make the next version with another playing test; None if nothing changed."""
    _locked(Pattern, pattern.pk)
    current = _seen(pattern, seen)
    if current.test == tuple(items):
        return None
    return _version(pattern, current.number + 1, current.sheet, by, why, to_json(items))


@transaction.atomic
def rename(pattern: Pattern, name: str) -> None:
    """Give a sheet another name; reeds made by it show the new one."""
    _locked(Studio, pattern.studio_id)
    pattern.name = _free_name(pattern.studio_id, name, pattern.pk)
    pattern.save(update_fields=["name"])


@transaction.atomic
def put_away(pattern: Pattern) -> None:
    """Put a sheet away: new reeds cannot take it, those that have it keep it. One always stays in use."""
    _locked(Studio, pattern.studio_id)
    if not Pattern.objects.in_use().filter(studio=pattern.studio_id).exclude(pk=pattern.pk).exists():
        raise NotPossible(_("This is the only sheet in use: begin another before putting it away."))
    Pattern.objects.filter(pk=pattern.pk, put_away_at__isnull=True).update(put_away_at=timezone.now())


def take_up_again(pattern: Pattern) -> None:
    """Bring a sheet back into use."""
    Pattern.objects.filter(pk=pattern.pk).update(put_away_at=None)


@transaction.atomic
def set_offsets(student: Member, by: Member, deltas: Mapping[str, float], why: str) -> None:
    """Keep what this student's instrument wants beside the sheet; a quantity not named has no offset."""
    wanted = {key: delta for key, delta in deltas.items() if delta}
    _fits_every_sheet(student, wanted)
    Offset.objects.filter(student=student).exclude(quantity__in=wanted).delete()
    there = Offset.objects.of(student)
    for key, delta in wanted.items():
        if there.get(key) != delta:
            Offset.objects.update_or_create(
                studio_id=student.studio_id,
                student=student,
                quantity=key,
                defaults={
                    "delta": delta,
                    "why": why,
                    "set_by": by,
                    "set_at": timezone.now(),
                },
            )


def _fits_every_sheet(student: Member, deltas: Mapping[str, float]) -> None:
    """Refuse offsets that would move a sheet in use to where no reed can be."""
    current = PatternVersion.objects.current().filter(studio=student.studio_id)
    known = OwnQuantity.objects.filter(studio=student.studio_id).known()
    for version in current.select_related("pattern"):
        try:
            version.sheet_in(known).with_offsets(deltas)
        except SheetError as problem:
            raise NotPossible(
                _("The sheet “%(sheet)s” cannot be moved so far: %(problem)s")
                % {"sheet": version.pattern, "problem": say(problem)}
            ) from None
