"""What a list is read against: its studio's people, reeds, measuring sheets and quantities."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from django.conf import settings
from django.utils import translation
from django.utils.translation import gettext, pgettext

from lessons.log.choices import LEFT_OUT
from lessons.log.models import ReedLog
from lessons.log.table.cells import Use
from lessons.log.table.columns import Column, Kind, columns_of, reading_of
from lessons.log.table.days import Order, order_of, wants_an_order
from lessons.log.table.gathering import Around, Gathering, ThereAlready
from lessons.log.table.headings import factor_of, folded, heading_of
from lessons.log.table.lines import Reader
from reeds.numbers.quantity import Known
from reeds.reed.models.reed import Reed
from reeds.sheet.models.own import OwnQuantity
from reeds.sheet.models.pattern import Pattern
from studio.models import Member


def known_to(studio_id: int) -> Known:
    """Return what a studio knows: the registry and its own."""
    return OwnQuantity.objects.filter(studio=studio_id).known()


def columns_for(known: Known) -> dict[str, Column]:
    """Return all that a column can be there, with its name and its words in each language of the site."""
    columns = columns_of(known).items()
    return {
        key: replace(one, also=(*one.also, *_in_each_language(one.name)), spoken=tuple(_spoken(one)))
        for key, one in columns
    }


def _spoken(column: Column) -> Iterator[tuple[str, str]]:
    for value, label in column.choices:
        yield from ((value, word) for word in _in_each_language(label))


def _in_each_language(marked: str) -> Iterator[str]:
    for language, _its_name in settings.LANGUAGES:
        with translation.override(language):
            yield gettext(marked)
            yield pgettext("how it blows", marked)


@dataclass
class Understood:
    """One list with all that is needed to read it, its columns and what is around it; fetched once each."""

    log: ReedLog

    @cached_property
    def known(self) -> Known:
        return known_to(self.log.studio_id)

    @cached_property
    def columns(self) -> dict[str, Column]:
        return columns_for(self.known)

    @cached_property
    def taken(self) -> dict[int, Column]:
        """The columns of the file that are taken for something, by place."""
        chosen = self.log.chosen.columns.items()
        return {place: self.columns[key] for place, key in sorted(chosen) if key in self.columns}

    @cached_property
    def undecided(self) -> list[int]:
        """The places of columns of which nobody said what they are, or that they are left out."""
        chosen = self.log.chosen.columns
        return [
            place
            for place in range(len(self.log.headings))
            if place not in self.taken and chosen.get(place) != LEFT_OUT
        ]

    @cached_property
    def orders(self) -> dict[int, Order]:
        """How each column of days writes them: as its cells show, else as was chosen, else open."""
        places = [place for place, column in self.taken.items() if column.kind is Kind.DAY]
        typed: dict[int, list[str]] = {place: [] for place in places}
        for row in self.log.rows() if places else ():
            for place in places:
                if place < len(row.cells) and wants_an_order(row.cells[place]):
                    typed[place].append(row.cells[place])
        return {place: self._order(place, days) for place, days in typed.items() if days}

    def _order(self, place: int, days: Iterable[str]) -> Order:
        shown = order_of(days)
        return self.log.chosen.orders.get(place, Order.OPEN) if shown is Order.OPEN else shown

    @cached_property
    def reader(self) -> Reader:
        """How its rows are read."""
        known = (reading_of(quantity) for quantity in self.known.values())
        names = {
            folded(name): one for one in known for name in (*_in_each_language(one.name), one.name, one.key)
        }
        uses = tuple(self._use(place, column) for place, column in self.taken.items())
        return Reader(uses, len(self.log.headings), names)

    def _use(self, place: int, column: Column) -> Use:
        heading = str(self.log.headings[place])
        unit = heading_of(heading).unit if column.kind is Kind.NUMBER else ""
        factor = factor_of(column, unit)
        shown = unit if factor not in (None, 1.0) else ""
        return Use(place, heading, column, shown, factor or 1.0, self.orders.get(place, Order.OPEN))

    @cached_property
    def around(self) -> Around:
        """What its rows are held against."""
        log, chosen = self.log, self.log.chosen
        return Around(
            people=people_of(log.studio_id),
            owner=log.student_id,
            reeds=reeds_of(log),
            sheets=sheets_of(log.studio_id),
            today=dt.datetime.now(log.studio.zone).date(),
            existing=chosen.existing,
            made_on=chosen.made_on,
        )

    def gathering(self) -> Gathering:
        """Return an empty gathering of its reeds, to be filled by going through its lines."""
        return Gathering(self.around)


def people_of(studio_id: int) -> dict[str, int]:
    """Return the studio's present members by name and user name, folded; 0 for what several bear."""
    members = Member.objects.makers().filter(studio=studio_id).select_related("person")
    people: dict[str, int] = {}
    for member in members:
        for name in {folded(member.person.name), folded(member.person.username)}:
            people[name] = 0 if name in people else member.pk
    return people


def reeds_of(log: ReedLog) -> dict[tuple[int, int], ThereAlready]:
    """Return the reeds that are there, of all whom the list may be about."""
    reeds = Reed.objects.filter(studio=log.studio_id)
    if log.student_id:
        reeds = reeds.filter(owner=log.student_id)
    zone = log.studio.zone
    rows = reeds.values_list("owner", "number", "pk", "made_at", "taken_out_at")
    return {
        (owner, number): ThereAlready(pk, made_at.astimezone(zone).date(), taken_out is not None)
        for owner, number, pk, made_at, taken_out in rows
    }


def sheets_of(studio_id: int) -> Mapping[str, int]:
    """Return the studio's measuring sheets in use by folded name."""
    rows = Pattern.objects.filter(studio=studio_id).in_use().values_list("name", "pk")
    return {folded(name): pk for name, pk in rows}
