"""THE rule of who sees what; every view gets its objects through here.

A row belongs to one studio. Who teaches sees the studio's rows. A student sees the rows whose `owner_path`
leads to them, and all rows of a model without an owner (patterns, terms); a guardian those of their children
who are under age. What one may not see does not exist: 404. Which pages a role has, and that a guardian sends
nothing, is said in studio/roles.py.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar, Protocol, Self, TypeVar

from django.db import models
from django.http import HttpRequest
from django.shortcuts import get_object_or_404
from django_htmx.middleware import HtmxDetails

if TYPE_CHECKING:
    from studio.models import Member


class Seer(Protocol):
    """What the rule needs to know of the member who asks."""

    @property
    def pk(self) -> Any: ...  # noqa: ANN401  # Django's own primary key is Any
    @property
    def studio_id(self) -> int: ...
    @property
    def teaches(self) -> bool: ...
    @property
    def leads(self) -> bool: ...
    @property
    def is_guardian(self) -> bool: ...
    @property
    def sees_rows_of(self) -> Any: ...  # noqa: ANN401  # ids, or the query for them


Row = TypeVar("Row", bound="StudioRow")


class StudioQuerySet(models.QuerySet[Row]):
    """A queryset that can be narrowed to what a member may see."""

    def visible_to(self, member: Seer) -> Self:
        rows = self.filter(studio=member.studio_id)
        owner_path = self.model.owner_path
        if member.teaches or owner_path is None:
            return rows
        if not member.is_guardian:
            return rows.filter(**{owner_path: member.pk})
        # a lesson of two of their children is one row
        theirs = self.model._base_manager.filter(**{f"{owner_path}__in": member.sees_rows_of})
        return rows.filter(pk__in=theirs.values("pk"))


class StudioRow(models.Model):
    """Every row of a studio carries it, so that the data can be narrowed and split by it."""

    studio = models.ForeignKey("studio.Studio", on_delete=models.CASCADE, related_name="+")
    owner_path: ClassVar[str | None] = None

    objects: ClassVar[models.Manager[Any]] = StudioQuerySet.as_manager()

    class Meta:
        abstract = True

    def _get_FIELD_display(self, field: models.Field[Any, Any]) -> Any:  # noqa: ANN401, N802  # as Django has it
        """Return a choice in the reader's words; Django's own reads the words of all of them for each row."""
        value = getattr(self, field.attname)
        label = next((words for key, words in field.flatchoices if key == value), value)
        return label if label is None else str(label)


class MemberRequest(HttpRequest):
    """A request after the middleware: somebody signed in, asking as a member of one studio."""

    member: Member
    htmx: HtmxDetails


def fetch(rows: type[Row] | StudioQuerySet[Row], member: Seer, pk: int) -> Row:
    """Return the row if this member may see it, else answer 404."""
    queryset: StudioQuerySet[Row] = rows._default_manager.all() if isinstance(rows, type) else rows  # type: ignore[assignment]  # every StudioRow's manager makes this queryset
    return get_object_or_404(queryset.visible_to(member), pk=pk)
