"""The list of reeds: the newest first, narrowed by what one chose."""

from __future__ import annotations

from django.core.paginator import Page, Paginator
from django.db.models import Count, QuerySet

from reeds.reed.models.reed import Reed, ReedQuerySet
from studio.access import Seer
from studio.prepared import prepared

A_PAGE = 40
# a number, a stage, a sheet and whose: '' and None where it may be any
Chosen = tuple[int | None, str, int | None, int | None]
ANY: Chosen = (None, "", None, None)


class _Found:
    """What a paginator cuts in pages; its first is asked for all day."""

    def __init__(self, member: Seer, chosen: Chosen) -> None:
        self.member, self.chosen = member, chosen

    def count(self) -> int:
        return next(iter(_count(self.member, *self.chosen)), 0)

    def __getitem__(self, part: slice) -> list[Reed]:
        if part.start == 0:
            return _newest(self.member, *self.chosen)
        return list(_listed(self.member, *self.chosen)[part])


def page_of(member: Seer, chosen: Chosen, number: str | None) -> Page[Reed]:
    """Return the page of that number, the first where there is none."""
    found = _Found(member, chosen)
    return Paginator(found, A_PAGE).get_page(number)  # type: ignore[arg-type]  # it counts and cuts: enough


def _narrowed(member: Seer, *chosen: *Chosen) -> ReedQuerySet:
    paths = zip(("number", "stage", "version__pattern", "owner"), chosen, strict=True)
    return Reed.objects.visible_to(member).filter(
        **{path: one for path, one in paths if one not in (None, "")}
    )


def _listed(member: Seer, *chosen: *Chosen) -> QuerySet[Reed]:
    return _narrowed(member, *chosen).listed().order_by("-made_at", "-pk")


@prepared
def _newest(member: Seer, *chosen: *Chosen) -> QuerySet[Reed]:
    return _listed(member, *chosen)[:A_PAGE]


@prepared
def _count(member: Seer, *chosen: *Chosen) -> QuerySet[Reed, int]:
    rows = _narrowed(member, *chosen).order_by().values("studio")
    return rows.annotate(n=Count("pk")).values_list("n", flat=True)
