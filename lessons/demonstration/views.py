"""Demonstrations of a studio: seen by everybody of it, written by its teachers."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.utils.cache import patch_cache_control
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from lessons.demonstration import actions
from lessons.demonstration.forms import NewForm, WordsForm
from lessons.demonstration.models import Demonstration
from reeds.numbers.quantity import Known
from reeds.photo.kept import COPIES
from reeds.sheet.models.own import OwnQuantity
from reeds.take.streamed import streamed
from studio.access import MemberRequest, fetch
from studio.asked import tries_in
from studio.errors import NotPossible
from studio.kept import file_answer
from studio.roles import guardians_too, teaching_only


@require_safe
def demonstrations(request: MemberRequest) -> HttpResponse:
    """All of the studio; those that were put away are its teachers' alone."""
    rows = Demonstration.objects.visible_to(request.member).select_related("made_by__person")
    away = rows.filter(put_away_at__isnull=False) if request.member.teaches else []
    page = {"demonstrations": rows.shown(), "away": away, "known": _known(request)}
    return render(request, "lessons/demonstration/demonstrations.html", page)


@require_safe
def demonstration(request: MemberRequest, pk: int) -> HttpResponse:
    """One of them."""
    page = {"shown": _fetch(request, pk), "known": _known(request)}
    return render(request, "lessons/demonstration/demonstration.html", page)


def _known(request: MemberRequest) -> Known:
    """What the studio knows: the registry and its own."""
    return OwnQuantity.objects.visible_to(request.member).known()


def _fetch(request: MemberRequest, pk: int) -> Demonstration:
    return fetch(Demonstration.objects.select_related("made_by__person"), request.member, pk)


@teaching_only
def new(request: MemberRequest) -> HttpResponse:
    """Add one."""
    form = NewForm(_known(request), request.POST or None, request.FILES or None)
    if form.is_valid():
        try:
            kept = actions.add(request.member, form.told, form.chosen, form.once)
            return redirect(request.member.to("lessons:demonstration", kept.pk))
        except NotPossible as refusal:
            form.add_error(None, str(refusal))
    return _form(request, form)


@teaching_only
def edit(request: MemberRequest, pk: int) -> HttpResponse:
    """Change its words."""
    row = _fetch(request, pk)
    form = WordsForm(_known(request), request.POST or None, instance=row)
    if form.is_valid():
        actions.change(row, form.told)
        return redirect(request.member.to("lessons:demonstration", pk))
    return _form(request, form)


def _form(request: MemberRequest, form: WordsForm) -> HttpResponse:
    status = 422 if form.is_bound else 200
    return render(request, "lessons/demonstration/demonstration_form.html", {"form": form}, status=status)


@require_POST
@teaching_only
def put_away(request: MemberRequest, pk: int) -> HttpResponse:
    """Offer it no longer, or again."""
    row = _fetch(request, pk)
    if request.POST.get("again"):
        actions.show_again(row)
    else:
        actions.put_away(row)
    return redirect(request.member.to("lessons:demonstrations"))


@guardians_too
@require_safe
@never_cache
def kept(request: MemberRequest, pk: int) -> HttpResponse:
    """Show how far the server is with its files; the page asks until they are ready, then stops."""
    page = {"shown": _fetch(request, pk), "tries": tries_in(request)}
    return render(request, "lessons/demonstration/_kept.html", page)


@guardians_too
@require_safe
def photo(request: MemberRequest, pk: int, size: str) -> HttpResponseBase:
    """One of the prepared copies of its photo; never the upload."""
    row = _fetch(request, pk)
    if size not in COPIES or not row.photo_is_ready:
        raise Http404
    try:
        answer = file_answer(getattr(row, f"photo_{size}"), "image/jpeg")
    except FileNotFoundError:
        raise Http404 from None
    patch_cache_control(answer, private=True, max_age=3600)
    return answer


@guardians_too
@require_safe
def sound(request: MemberRequest, pk: int) -> HttpResponseBase:
    """Its recording, whole or the part asked for; never the upload."""
    row = _fetch(request, pk)
    if not row.sound_is_ready or not row.sound:
        raise Http404
    return streamed(request, *row.played)
