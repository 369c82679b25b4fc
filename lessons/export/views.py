"""All that one may see, to take away: asked for, made by the worker, fetched, dropped."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from lessons.export import actions
from lessons.export.forms import ExportForm
from lessons.export.models import Export
from studio.access import MemberRequest, fetch
from studio.asked import tries_in
from studio.errors import NotPossible
from studio.kept import file_answer


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def export(request: MemberRequest) -> HttpResponse:
    """Choose what to take away and ask for it; below it how far the last one is."""
    chosen = {name: request.GET.get(name) for name in ("student", "term")}
    sent = request.POST if request.method == "POST" else None  # a student may leave all of it as it is
    form = ExportForm(request.member, sent, initial=chosen)
    if form.is_valid():
        try:
            actions.ask(request.member, form.wanted)
            return redirect(request.member.to("lessons:export"))
        except NotPossible as refusal:
            form.add_error(None, str(refusal))
    page = {"form": form, "export": _last(request)}
    return render(request, "lessons/export/export.html", page, status=422 if form.errors else 200)


def _last(request: MemberRequest) -> Export | None:
    return Export.objects.visible_to(request.member).select_related("student__person", "term").first()


@require_safe
@never_cache
def state(request: MemberRequest) -> HttpResponse:
    """Say how far the worker is; the page asks until it is ready, then stops."""
    page = {"export": _last(request), "tries": tries_in(request)}
    return render(request, "lessons/export/_export.html", page)


@require_safe
@never_cache
def file(request: MemberRequest, pk: int) -> HttpResponseBase:
    """Send the file of an export of one's own."""
    row = fetch(Export, request.member, pk)
    if not row.is_ready:
        raise Http404
    day = timezone.localtime(row.asked_at).date()
    called = slugify(_("reeds"))
    name = f"{called}-{slugify(request.member.studio.name) or 'studio'}-{day}.zip"
    try:
        return file_answer(row.file, "application/zip", as_attachment=True, filename=name)
    except FileNotFoundError:
        raise Http404 from None


@require_POST
def drop(request: MemberRequest, pk: int) -> HttpResponse:
    """Delete it before its time."""
    actions.drop(fetch(Export, request.member, pk))
    return redirect(request.member.to("lessons:export"))
