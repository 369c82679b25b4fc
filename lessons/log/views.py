"""A list of reeds brought in: chosen, looked over, brought in or dropped, taken back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from lessons.log.models import ReedLog
from reeds.numbers.late import Late
from studio.access import MemberRequest, fetch
from studio.errors import NotPossible

if TYPE_CHECKING:
    from lessons.log import forms, pages
    from lessons.log.actions import keep, undo, write
else:  # few bring a list in, and once: the other pages start without what reads it
    forms, pages = (Late(f"lessons.log.{name}") for name in ("forms", "pages"))
    keep, undo, write = (Late(f"lessons.log.actions.{name}") for name in ("keep", "undo", "write"))


@require_http_methods(["GET", "HEAD", "POST"])
def logs(request: MemberRequest) -> HttpResponse:
    """Choose a file, and see what was brought in before."""
    given = (request.POST, request.FILES) if request.method == "POST" else ()
    form = forms.UploadForm(request.member, *given)
    if form.is_valid():
        try:
            log = keep.keep(form.upload, form.cleaned_data["key"])
            return redirect(request.member.to("lessons:log", log.pk))
        except NotPossible as refusal:
            form.add_error("file", str(refusal))
    rows = ReedLog.objects.visible_to(request.member).standing()
    page = {"form": form, "logs": rows.select_related("by__person", "student__person")}
    return render(request, "lessons/log/logs.html", page, status=422 if form.is_bound else 200)


def _fetch(request: MemberRequest, pk: int) -> ReedLog:
    return fetch(
        ReedLog.objects.select_related("studio", "by__person", "student__person"), request.member, pk
    )


@require_safe
def log(request: MemberRequest, pk: int) -> HttpResponse:
    """What would come of it, or what came of it."""
    return _page(request, _fetch(request, pk))


def _page(
    request: MemberRequest, row: ReedLog, form: forms.ChoicesForm | None = None, said: str = ""
) -> HttpResponse:
    shown = pages.LogPage(row, request.GET.get("page", "1"))
    if not row.is_waiting:
        return render(
            request,
            "lessons/log/brought_in.html",
            {"shown": shown, "said": said},
            status=422 if said else 200,
        )
    page = {
        "shown": shown,
        "form": form or forms.ChoicesForm(request.member, shown.understood),
        "earlier": pages.earlier(write.days_of_same_file(row)),
        "said": said,
    }
    return render(request, "lessons/log/look.html", page, status=422 if form or said else 200)


@require_POST
def choose(request: MemberRequest, pk: int) -> HttpResponse:
    """Say what its columns are."""
    row = _fetch(request, pk)
    form = forms.ChoicesForm(request.member, pages.LogPage(row).understood, request.POST)
    if not form.is_valid():
        return _page(request, row, form)
    try:
        keep.choose(row, form.choices)
    except NotPossible as refusal:
        messages.error(request, str(refusal))
    return redirect(request.member.to("lessons:log", row.pk))


@require_POST
def bring_in(request: MemberRequest, pk: int) -> HttpResponse:
    """Make its reeds and numbers."""
    row = _fetch(request, pk)
    form = forms.AgreedForm(request.POST)
    form.full_clean()
    try:
        write.bring_in(row, form.agreed)
    except NotPossible as refusal:
        return _page(request, row, said=str(refusal))
    return redirect(request.member.to("lessons:log", row.pk))


@require_POST
def take_back(request: MemberRequest, pk: int) -> HttpResponse:
    """Take back all that came with it."""
    row = _fetch(request, pk)
    try:
        undo.take_back(row)
    except NotPossible as refusal:
        return _page(request, row, said=str(refusal))
    return redirect(request.member.to("lessons:log", row.pk))


@require_POST
def drop(request: MemberRequest, pk: int) -> HttpResponse:
    """Forget the upload."""
    row = _fetch(request, pk)
    try:
        keep.drop(row)
        messages.success(request, _("The list is forgotten; nothing of it was brought in."))
    except NotPossible as refusal:
        messages.error(request, str(refusal))
    return redirect(request.member.to("lessons:logs"))
