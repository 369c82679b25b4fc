"""What an export is of: whose eyes see it, of which student, of which term."""

from __future__ import annotations

import datetime as dt
import zoneinfo
from collections.abc import Callable
from functools import cached_property
from typing import Any, NamedTuple, TypeVar

from django.db.models import Q, QuerySet

from reeds.numbers.quantity import Known
from reeds.reed.models.reed import Reed
from reeds.sheet.models.own import OwnQuantity
from studio.consented import hidden
from studio.models import TEACHING_ROLES, Member, Term

Rows = QuerySet[Any]
Kept = TypeVar("Kept")
Some = TypeVar("Some", bound=QuerySet[Any])


class ReedHere(NamedTuple):
    """What other rows say of their reed."""

    number: int
    owner: int
    version: int
    staple_length: float | None
    flexibility: str


class Scope:
    """A member's view of a studio, one student of it or all, one term or all of the time.

    A student's is of themselves, whatever is asked for. `with_pictures` says whether files of photos and
    recordings are in it. `ids_of` says which rows of a table are in the
    export, so that no row leads to one that is not.
    """

    def __init__(
        self,
        member: Member,
        student: Member | None = None,
        term: Term | None = None,
        *,
        with_pictures: bool = True,
    ) -> None:
        self.member, self.term, self.with_pictures = member, term, with_pictures
        self.student = student if member.leads else member
        self.zone: zoneinfo.ZoneInfo = member.studio.zone
        self.ids: dict[str, Callable[[Scope], set[int]]] = {}
        self.of_reeds: list[Callable[[Scope], Rows]] = []
        self._ids: dict[str, set[int]] = {}
        self._once: dict[Callable[[Scope], Any], Any] = {}

    def narrowed(self, rows: Some, *, when: str = "", whose: str = "") -> Some:
        """Return the rows of this student and term; `when` and `whose` are their paths to it."""
        if whose and self.student:
            rows = rows.filter(**{whose: self.student.pk})
        if when and self.term:
            start, end = self.term.span
            rows = rows.filter(**{f"{when}__gte": start, f"{when}__lt": end})
        return rows

    def ids_of(self, table: str) -> set[int]:
        """Return the ids of a table's rows in this export."""
        if table not in self._ids:
            self._ids[table] = self.ids[table](self)
        return self._ids[table]

    def local(self, at: dt.datetime | None) -> dt.datetime | None:
        return at.astimezone(self.zone) if at else None

    @cached_property
    def known(self) -> Known:
        """What the studio knows: the registry and its own."""
        return OwnQuantity.objects.visible_to(self.member).known()

    def once(self, what: Callable[[Scope], Kept]) -> Kept:
        """Return what a table needs besides, made when it is first asked for."""
        if what not in self._once:
            self._once[what] = what(self)
        kept: Kept = self._once[what]
        return kept

    @cached_property
    def names(self) -> dict[int, str]:
        """Names by member: of one student's export the student's and the teachers', so nobody else's."""
        people = Member.objects.filter(studio=self.member.studio_id).select_related("person")
        if self.student:
            people = people.filter(Q(pk=self.student.pk) | Q(role__in=TEACHING_ROLES))
        return {one.pk: str(one) for one in people}

    @cached_property
    def hidden(self) -> frozenset[int]:
        """Whose photos and recordings nobody sees, since the consent was taken back."""
        people = Member.objects.filter(hidden(), studio=self.member.studio_id)
        return frozenset(people.values_list("pk", flat=True))

    @cached_property
    def reeds(self) -> dict[int, ReedHere]:
        """The reeds by id: of a term those made in it, and those of which any row is of the term."""
        rows = self.narrowed(Reed.objects.visible_to(self.member), whose="owner")
        if self.term:
            made = self.narrowed(rows, when="made_at").values_list("pk", flat=True)
            ids = set(made).union(*(reeds(self) for reeds in self.of_reeds))
        fields = ("number", "owner", "version", "staple_length", "flexibility")
        every = rows.values_list("pk", *fields).order_by("pk").iterator(chunk_size=2000)
        return {pk: ReedHere(*values) for pk, *values in every if not self.term or pk in ids}
