"""A studio's people as the teacher sees them."""

from __future__ import annotations

from django.db.models import Prefetch
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from studio.access import MemberRequest
from studio.further import part_of
from studio.models import TEACHING_ROLES, Invitation, Member
from studio.roles import teaching_only


@require_safe
@teaching_only
def people(request: MemberRequest) -> HttpResponse:
    """Students, teachers and assistants, guardians, open invitations, and who has left."""
    members, asked = Member.objects.visible_to(request.member).select_related("person"), request.GET
    children = Prefetch("children", Member.objects.visible_to(request.member).select_related("person"))
    teaching = list(members.current().filter(role__in=TEACHING_ROLES))
    former = part_of(members.former(), asked, "left")
    words = {
        "students": part_of(members.students(), asked, "students"),
        "teachers": [one for one in teaching if one.leads],
        "assistants": [one for one in teaching if not one.leads],
        "guardians": part_of(members.guardians().prefetch_related(children), asked, "guardians"),
        "former": former,
        "left": former.counted(members.former()),
        "invitations": part_of(Invitation.objects.visible_to(request.member).open(), asked, "invitations"),
    }
    return render(request, "studio/people.html", words)
