"""A studio's people as the teacher sees them."""

from __future__ import annotations

from typing import Any

from django.db.models import Count, QuerySet
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from studio.access import MemberRequest, Seer
from studio.further import A_FEW, in_parts, part_of
from studio.models import NAMING, TEACHING_ROLES, Invitation, Member, MemberQuerySet, called
from studio.prepared import prepared
from studio.roles import teaching_only

# what a row says of somebody
SHOWN = (
    *NAMING,
    *("role", "under_age", "guardian_consent_on", "guardian_consent_withdrawn_at"),
    *("erasure_asked_at", "may_act", "left_at"),
)


@require_safe
@teaching_only
def people(request: MemberRequest) -> HttpResponse:
    """Students, teachers and assistants, guardians, open invitations, and who has left."""
    member, asked = request.member, request.GET
    teaching = _teaching(member)
    guardians = _guardians(member, asked, "guardians")
    former = _former(member, asked, "left")
    invitations = Invitation.objects.visible_to(member).open()
    words = {
        "students": _students(member, asked, "students"),
        "teachers": [one for one in teaching if one.leads],
        "assistants": [one for one in teaching if not one.leads],
        "guardians": guardians,
        "children": _children(member, tuple(one.pk for one in guardians.rows)),
        "former": former,
        "left": sum(_left(member)) if former.is_torn else len(former),
        "invitations": part_of(invitations, asked, "invitations", A_FEW),
    }
    return render(request, "studio/people.html", words)


def _told(member: Seer) -> MemberQuerySet:
    return Member.objects.visible_to(member).select_related("person").only(*SHOWN)


_students = in_parts(lambda member: _told(member).students())
_guardians = in_parts(lambda member: _told(member).guardians(), A_FEW)
_former = in_parts(lambda member: _told(member).former(), A_FEW)


@prepared
def _teaching(member: Seer) -> QuerySet[Member]:
    return _told(member).current().filter(role__in=sorted(TEACHING_ROLES))


@prepared
def _left(member: Seer) -> QuerySet[Member, int]:
    rows = Member.objects.visible_to(member).former().order_by().values("studio")
    return rows.annotate(n=Count("pk")).values_list("n", flat=True)


def _children(member: Seer, guardians: tuple[int, ...]) -> dict[int, list[str]]:
    """Return by guardian what their children are called."""
    called_by: dict[int, list[str]] = {pk: [] for pk in guardians}
    for guardian, *child in _children_of(member, guardians):
        called_by[guardian].append(called(*child))
    return called_by


@prepared
def _children_of(member: Seer, guardians: tuple[int, ...]) -> QuerySet[Member, tuple[Any, ...]]:
    rows = Member.objects.visible_to(member).filter(guardians__in=guardians)
    return rows.values_list("guardians", "pk", *NAMING)
