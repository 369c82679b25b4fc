"""Reeds: the list, making them, one reed's life, the box."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render

from reeds.actions import make_reeds
from reeds.models import Reed
from reeds.reed_forms import MakeForm
from studio.access import MemberRequest, fetch


def reeds(request: MemberRequest) -> HttpResponse:
    """All reeds one may see, newest first; a number typed finds the reed."""
    rows = Reed.objects.visible_to(request.member).select_related("owner__person", "version__pattern")
    number = request.GET.get("number", "")
    if number.isdigit():
        rows = rows.filter(number=int(number))
        if len(rows) == 1:
            return redirect(request.member.to("reeds:reed", rows[0].pk))
    return render(request, "reeds/reeds.html", {"reeds": rows, "number": number})


def make(request: MemberRequest) -> HttpResponse:
    """Make one reed or several at once."""
    form = MakeForm(request.member, request.POST or None)
    if not form.is_valid():
        return render(request, "reeds/make.html", {"form": form}, status=422 if form.is_bound else 200)
    made = make_reeds(form.reed(), request.member, form.cleaned_data["count"])
    if request.GET.get("then") == "send":
        return redirect(request.member.to("lessons:draft", made[0].pk))
    return render(request, "reeds/made.html", {"reeds": made})


def reed(request: MemberRequest, pk: int) -> HttpResponse:
    """One reed's life as one timeline."""
    rows = Reed.objects.visible_to(request.member).select_related("owner__person", "version__pattern", "cane")
    return render(request, "reeds/reed.html", {"reed": fetch(rows, request.member, pk)})


def box(request: MemberRequest) -> HttpResponse:
    """Blanks at rest, for how long."""
    rows = Reed.objects.visible_to(request.member).at_rest().select_related("owner__person")
    return render(request, "reeds/box.html", {"reeds": rows})
