"""What a teacher does to the studio's own quantities and things seen; each is one transaction."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.utils import timezone
from django.utils.text import slugify
from django.utils.translation import gettext as _

from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import Stage
from reeds.sheet.models.own import OWN, OwnQuantity
from reeds.sheet.models.pattern import PatternVersion
from studio.errors import NotPossible
from studio.models import Member, Studio

MOST_OWN = 40
# a key has 40 characters, of which the first four and a number at the end are not the name's
LONGEST_SLUG = 32


@dataclass(frozen=True, kw_only=True)
class Described:
    """An own quantity as its teacher describes it; `labels` are the choices of a thing seen."""

    name: str
    stage: Stage
    help: str = ""
    unit: str = ""
    low: float | None = None
    high: float | None = None
    method: str = "eye"
    u: float | None = None
    labels: tuple[str, ...] = ()


@dataclass(frozen=True)
class Use:
    """How much of an own quantity there is already: readings, and versions of measuring sheets."""

    noted: int
    versions: int

    @property
    def is_used(self) -> bool:
        return bool(self.noted or self.versions)


def uses_of(rows: Sequence[OwnQuantity]) -> dict[int, Use]:
    """Return for each row how much of it there is, by its primary key."""
    studios = {row.studio_id for row in rows}
    on_sheets = [
        (studio, {limit["quantity"] for limit in data["limits"]})
        for studio, data in PatternVersion.objects.filter(studio__in=studios).values_list("studio", "data")
    ]
    return {
        row.pk: Use(
            row.measurements.count(),
            sum(row.key in keys for studio, keys in on_sheets if studio == row.studio_id),
        )
        for row in rows
    }


def _locked(by: Member) -> None:
    Studio.objects.select_for_update().get(pk=by.studio_id)


def _free_name(by: Member, name: str, but: int = 0) -> str:
    """Return the name if nothing else that this studio knows has it, whatever its capitals."""
    wanted = " ".join(name.split())
    if any(wanted.casefold() in (_(one.name).casefold(), one.name.casefold()) for one in QUANTITIES.values()):
        raise NotPossible(_("“%s” is there already: put it on a measuring sheet.") % wanted)
    same = OwnQuantity.objects.filter(studio=by.studio_id, name__iexact=wanted).exclude(pk=but).first()
    if same is None:
        return wanted
    if same.retired_at:
        raise NotPossible(_("“%s” was retired: take it up again, its numbers are still there.") % same)
    raise NotPossible(_("The studio has “%s” already.") % same)


def _free_key(by: Member, name: str) -> str:
    """Return a lasting word made of the name; a number goes behind it where another one has it."""
    slug = slugify(name).replace("-", "_")[:LONGEST_SLUG].strip("_") or "item"
    taken = set(OwnQuantity.objects.filter(studio=by.studio_id).values_list("key", flat=True))
    numbered = (f"{OWN}{slug}_{n}" for n in itertools.count(2))
    return next(key for key in itertools.chain([f"{OWN}{slug}"], numbered) if key not in taken)


def _fields(given: Described) -> dict[str, Any]:
    return {
        "help": given.help,
        "stage": given.stage,
        "unit": given.unit,
        "low": given.low,
        "high": given.high,
        "method": given.method,
        "u": given.u,
    }


@transaction.atomic
def add_own(by: Member, given: Described) -> OwnQuantity:
    """Add a quantity or a thing seen to what the member's studio knows."""
    _locked(by)
    if OwnQuantity.objects.filter(studio=by.studio_id).in_use().count() >= MOST_OWN:
        raise NotPossible(_("There are %d already: retire one that nobody needs.") % MOST_OWN)
    name = _free_name(by, given.name)
    return OwnQuantity.objects.create(
        studio_id=by.studio_id,
        made_by=by,
        key=_free_key(by, name),
        name=name,
        choices=_choices(given.labels, []),
        **_fields(given),
    )


def _choices(labels: Sequence[str], there: Sequence[Sequence[str]]) -> list[list[str]]:
    """Return the labels, each with its lasting word: those that are there keep theirs, by their place."""
    return [
        [there[place][0] if place < len(there) else f"choice_{place + 1}", label]
        for place, label in enumerate(labels)
    ]


@transaction.atomic
def change_own(own: OwnQuantity, by: Member, given: Described) -> None:
    """Describe it anew. Once it is in use only what changes no meaning may change.

    That is its name and help; wider bounds; another usual tool of a length; further choices behind the old.
    """
    _locked(by)
    name = _free_name(by, given.name, own.pk)
    use = uses_of([own])[own.pk]
    if use.is_used:
        _keeps_its_meaning(own, given, use)
    own.name, own.choices = name, _choices(given.labels, own.choices if use.is_used else [])
    for field, value in _fields(given).items():
        setattr(own, field, value)
    own.save()


def _keeps_its_meaning(own: OwnQuantity, given: Described, use: Use) -> None:
    if (given.unit, given.stage) != (own.unit, own.stage):
        raise NotPossible(
            _(
                "It is in use (noted: %(noted)d, on sheets: %(versions)d): unit and stage stay. "
                "Retire it, and add another."
            )
            % {"noted": use.noted, "versions": use.versions}
        )
    if own.is_number and (_more(given.low, own.low) or _more(own.high, given.high)):
        raise NotPossible(_("It is in use: its bounds can be made wider, not narrower."))
    labels = [label for _word, label in own.choices]
    if list(given.labels[: len(labels)]) != labels:
        raise NotPossible(_("It is in use: its choices stay as they are; add further ones below them."))


def _more(one: float | None, other: float | None) -> bool:
    return one is not None and other is not None and one > other


@transaction.atomic
def retire(own: OwnQuantity) -> None:
    """Ask for it no more; what was noted stays. Twice is the same as once."""
    OwnQuantity.objects.filter(pk=own.pk, retired_at__isnull=True).update(retired_at=timezone.now())


@transaction.atomic
def ask_again(own: OwnQuantity, by: Member) -> None:
    """Take up one that was retired."""
    _locked(by)
    if own.retired_at and OwnQuantity.objects.filter(studio=by.studio_id).in_use().count() >= MOST_OWN:
        raise NotPossible(_("There are %d already: retire one that nobody needs.") % MOST_OWN)
    OwnQuantity.objects.filter(pk=own.pk).update(retired_at=None)
