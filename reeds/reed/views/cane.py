"""Lots of cane: the list, adding one, changing it, marking it used up."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from reeds.reed.forms.reed import CaneForm
from reeds.reed.models.cane import CaneLot
from studio.access import MemberRequest, fetch


@require_safe
def lots(request: MemberRequest) -> HttpResponse:
    """The lots one may see; those in use first."""
    rows = CaneLot.objects.visible_to(request.member).select_related("owner__person")
    counted = rows.counted().order_by("-added_at", "-pk")
    page = {
        "in_use": [lot for lot in counted if lot.finished_on is None],
        "used_up": [lot for lot in counted if lot.finished_on is not None],
    }
    return render(request, "reeds/reed/cane.html", page)


@require_http_methods(["GET", "HEAD", "POST"])
def add(request: MemberRequest) -> HttpResponse:
    """Add a lot of one's own."""
    mine = CaneLot(studio=request.member.studio, owner=request.member)
    return _filled_in(request, mine)


@require_http_methods(["GET", "HEAD", "POST"])
def lot(request: MemberRequest, pk: int) -> HttpResponse:
    """Change what is noted of a lot."""
    return _filled_in(request, fetch(CaneLot, request.member, pk))


def _filled_in(request: MemberRequest, one: CaneLot) -> HttpResponse:
    form = CaneForm(request.POST or None, instance=one)
    if form.is_valid():
        form.save()
        return redirect(request.member.to("reeds:cane"))
    return render(request, "reeds/reed/cane_lot.html", {"form": form}, status=422 if form.is_bound else 200)


@require_POST
def finish(request: MemberRequest, pk: int) -> HttpResponse:
    """Mark a lot used up today; a second tap leaves the day as it is."""
    one = fetch(CaneLot, request.member, pk)
    CaneLot.objects.visible_to(request.member).in_use().filter(pk=one.pk).update(
        finished_on=timezone.localdate()
    )
    return redirect(request.member.to("reeds:cane"))
