"""A studio's people as the teacher sees them."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from studio.access import MemberRequest
from studio.models import Invitation, Member
from studio.roles import teaching_only


@require_safe
@teaching_only
def people(request: MemberRequest) -> HttpResponse:
    """Students, teachers and assistants, guardians, open invitations, and who has left."""
    members = Member.objects.visible_to(request.member).select_related("person")
    here = list(members.current().prefetch_related("children__person"))
    words = {
        "students": [one for one in here if one.is_student],
        "teachers": [one for one in here if one.leads],
        "assistants": [one for one in here if one.teaches and not one.leads],
        "guardians": [one for one in here if one.is_guardian],
        "former": members.former(),
        "invitations": Invitation.objects.visible_to(request.member).open(),
    }
    return render(request, "studio/people.html", words)
