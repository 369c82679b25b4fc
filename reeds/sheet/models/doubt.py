"""How sure a studio takes its own tools to be, where that differs from the usual."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q, QuerySet
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from reeds.numbers.words import Method
from reeds.wording import choices_of
from studio.access import Seer, StudioQuerySet, StudioRow
from studio.keys import StudioKey
from studio.models import Member
from studio.prepared import anybody_of, prepared


class OwnDoubtQuerySet(StudioQuerySet["OwnDoubt"]):
    def of(self, studio_id: int) -> dict[Method, float]:
        """Return the studio's own standard uncertainties of a length, mm, by the way of measuring."""
        return {Method(method): u for method, u in _doubts(anybody_of(studio_id))}


class OwnDoubt(StudioRow):
    """One way of measuring and its standard uncertainty in this studio; numbers kept before keep theirs."""

    method = models.CharField(
        _("how measured"), max_length=10, choices=choices_of(m for m in Method if m.by_hand)
    )
    u_mm = models.FloatField(_("standard uncertainty, mm"))
    set_by = StudioKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    set_at = models.DateTimeField(default=timezone.now, editable=False)

    objects: ClassVar[OwnDoubtQuerySet] = OwnDoubtQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["studio", "method"], name="own_doubt_once_a_method"),
            models.CheckConstraint(condition=Q(u_mm__gt=0), name="own_doubt_is_positive"),
        ]

    def __str__(self) -> str:
        return f"{self.method} {self.u_mm}"


@prepared
def _doubts(member: Seer) -> QuerySet[OwnDoubt, tuple[str, float]]:
    return OwnDoubt.objects.filter(studio=member.studio_id).values_list("method", "u_mm")
