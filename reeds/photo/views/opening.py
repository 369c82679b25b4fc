"""The opening seen tip-on: its outline corrected by hand, its figures, kept as numbers of the reed."""

from __future__ import annotations

import json
import uuid
from typing import Any

from django.http import HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from reeds.checks.causes import keys_of
from reeds.numbers.registry import QUANTITIES
from reeds.photo.actions.opening import is_the_opening, keep_opening
from reeds.photo.forms.opening import CAMERAS, MARKED, OpeningForm
from reeds.photo.models.measuring import OPENING
from reeds.photo.pages.opening import (
    KEPT_AS,
    RATIOS,
    Opening,
    computed,
    entries_of,
    name_of,
    opening_of,
    script_data,
    shown,
)
from reeds.photo.views.rows import NOT_READY, leads_back, measuring_of, onwards, photo_for
from reeds.photo.vision.outline import NAMES
from reeds.photo.vision.record import OutlineSet
from reeds.photo.vision.refusal import PhotoRefused
from reeds.reed.facts import answers_of
from reeds.reed.findings import findings_of
from reeds.sheet.models.doubt import OwnDoubt
from reeds.wording import say
from studio.access import MemberRequest
from studio.errors import NotPossible


@require_safe
@never_cache
def opening(request: MemberRequest, pk: int) -> HttpResponse:
    """The photo with the outline of the gap; a photo not said to show it can be said to here."""
    photo = photo_for(request, pk)
    row = measuring_of(request, photo)
    if not (photo.is_ready and row.is_looked_at):
        return render(request, NOT_READY, {"photo": photo, "row": row, "tries": 1})
    if row.looked_for != OPENING:
        return render(request, "reeds/photo/opening_not_said.html", {"photo": photo})
    return render(request, "reeds/photo/opening.html", _page(request, opening_of(photo, row)))


def _page(request: MemberRequest, on: Opening) -> dict[str, Any]:
    member, pk = request.member, on.photo.pk
    addresses = {
        "screen": member.to("reeds:photo", pk, "screen"),
        "large": member.to("reeds:photo", pk, "large"),
        "full": member.to("reeds:photo", pk, "upright"),
        "figures": member.to("reeds:opening_figures", pk),
        "mine": f"{member.person_id}/opening/{pk}/{on.photo.width}",
    }
    return {
        "photo": on.photo,
        "opening": on,
        "points": [{"key": key, "name": name_of(key)} for key in NAMES],
        "marked": MARKED,
        "cameras": CAMERAS,
        "mm": [QUANTITIES[key] for _name, key, _source in KEPT_AS],
        "ratios": RATIOS,
        "key": uuid.uuid4(),
        "back": leads_back(request),
        "data": json.dumps(script_data(on, addresses)),
    }


@require_POST
def say_it_is_the_opening(request: MemberRequest, pk: int) -> HttpResponse:
    """Say that a photo shows the opening."""
    photo = photo_for(request, pk)
    is_the_opening(photo)
    return redirect(request.member.to("reeds:opening", photo.pk))


def _form(request: MemberRequest, pk: int) -> tuple[Opening, OpeningForm]:
    photo = photo_for(request, pk)
    on = opening_of(photo, measuring_of(request, photo))
    doubts = OwnDoubt.objects.visible_to(request.member).of(request.member.studio_id)
    return on, OpeningForm(photo, on.tip_width, doubts, request.POST)


@require_POST
@never_cache
def opening_figures(request: MemberRequest, pk: int) -> JsonResponse:
    """Answer a drop with the figures; nothing is kept."""
    on, form = _form(request, pk)
    if not form.is_valid():
        return JsonResponse({"refusal": form.said}, status=422)
    try:
        return JsonResponse(shown(computed(on, form), form))
    except PhotoRefused as refusal:
        return JsonResponse({"refusal": say(refusal)}, status=422)


@require_POST
def keep(request: MemberRequest, pk: int) -> HttpResponse:
    """Keep the figures as numbers of the reed, and show what the checks say of them."""
    on, form = _form(request, pk)
    if not form.is_valid():
        return _said(request, on, refusal=form.said)
    try:
        outline = OutlineSet(form.cleaned_data["points"])
        rows = keep_opening(on.photo, request.member, outline, entries_of(on, form), form.once)
    except NotPossible as refusal:
        return _said(request, on, refusal=str(refusal))
    except PhotoRefused as refusal:
        return _said(request, on, refusal=say(refusal))
    if not request.htmx:
        return redirect(onwards(request, on.photo))
    keys = {row.quantity for row in rows}
    found = findings_of(on.photo.reed, answers=answers_of(on.photo.reed))
    about = [one for one in found if any(keys & keys_of(part) for part in (one, *one.parts))]
    return _said(request, on, kept=rows, findings=about, key=uuid.uuid4())


def _said(request: MemberRequest, on: Opening, **more: Any) -> HttpResponse:  # noqa: ANN401  # what the partial shows
    status = 422 if more.get("refusal") else 200
    page = {"photo": on.photo, "back": leads_back(request), **more}
    return render(request, "reeds/photo/_kept.html", page, status=status)
