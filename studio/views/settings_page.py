"""What holds for the whole studio."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from studio.access import MemberRequest
from studio.backup.age import last_backup
from studio.forms import StudioForm
from studio.roles import teachers_only


@require_http_methods(["GET", "HEAD", "POST"])
@teachers_only
def settings(request: MemberRequest) -> HttpResponse:
    """Change the studio's name, time zone, A and what students see."""
    form = StudioForm(request.POST or None, instance=request.member.studio)
    if form.is_valid():
        form.save()
        messages.success(request, _("Kept."))
        return redirect(request.member.to("studio_settings"))
    if form.is_bound:
        request.member.studio.refresh_from_db()  # the bar must not show what was refused
    shown = {"form": form, "backed_up_at": last_backup()}
    return render(request, "studio/settings.html", shown, status=422 if form.is_bound else 200)
