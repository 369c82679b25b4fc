"""A studio's people as the teacher sees them."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from studio.access import MemberRequest
from studio.models import Invitation, Member
from studio.roles import teachers_only


@require_safe
@teachers_only
def people(request: MemberRequest) -> HttpResponse:
    """Students, teachers, open invitations, and who has left."""
    members = Member.objects.visible_to(request.member).select_related("person")
    words = {
        "students": members.students(),
        "teachers": members.teachers(),
        "former": members.former(),
        "invitations": Invitation.objects.visible_to(request.member).open(),
    }
    return render(request, "studio/people.html", words)
