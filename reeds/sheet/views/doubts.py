"""How sure the studio takes its tools to be: the teacher says it, numbers kept from then on carry it."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from reeds.sheet.actions.doubts import set_doubts
from reeds.sheet.forms.doubts import DoubtsForm
from reeds.sheet.models.doubt import OwnDoubt
from studio.access import MemberRequest
from studio.roles import teachers_only


@require_http_methods(["GET", "HEAD", "POST"])
@teachers_only
def doubts(request: MemberRequest) -> HttpResponse:
    """One number for each way of measuring."""
    own = OwnDoubt.objects.visible_to(request.member).of(request.member.studio_id)
    form = DoubtsForm(own, request.POST or None)
    if form.is_valid():
        set_doubts(request.member, form.doubts())
        messages.success(
            request, _("Kept. Numbers noted from now on carry it; those kept before keep theirs.")
        )
        return redirect(request.member.to("reeds:doubts"))
    return render(request, "reeds/sheet/doubts.html", {"form": form}, status=422 if form.is_bound else 200)
