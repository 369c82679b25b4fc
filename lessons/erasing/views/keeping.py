"""How long the studio keeps photos, recordings and people who left; what would go is shown first."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from lessons.erasing.forms import KeepingForm
from lessons.erasing.keeping import choose_times, going
from studio.access import MemberRequest
from studio.roles import teachers_only


@require_http_methods(["GET", "HEAD", "POST"])
@teachers_only
def keeping(request: MemberRequest) -> HttpResponse:
    """Choose the times; `look` only shows what would go."""
    studio = request.member.studio
    form = KeepingForm(request.POST or None, instance=studio)
    if form.is_valid() and "look" not in request.POST:
        choose_times(studio, request.member)
        messages.success(request, _("Kept. What is older goes within a day."))
        return redirect(request.member.to("lessons:keeping"))
    if form.errors:
        studio.refresh_from_db()
    page = {"form": form, "going": going(studio, timezone.now()), "looks": form.is_bound}
    return render(request, "lessons/erasing/keeping.html", page, status=422 if form.errors else 200)
