"""Measuring a reed on its photo: points proposed or set by hand, lengths with their doubt."""

from __future__ import annotations

import json
import uuid
from dataclasses import replace
from typing import Any

from django.http import HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from reeds.checks.causes import keys_of
from reeds.numbers.words import Moisture
from reeds.photo.actions.lengths import keep_lengths
from reeds.photo.actions.look import ask_to_look
from reeds.photo.forms.lengths import REFERENCES, MeasureForm
from reeds.photo.measuring import PhotoLengths, result_of
from reeds.photo.models.measuring import OPENING, PhotoMeasuring
from reeds.photo.models.photo import Photo
from reeds.photo.pages.keep import is_plausible
from reeds.photo.pages.lengths import (
    PhotoBench,
    answer_of,
    bench_of,
    entries_of,
    first_result,
    places_of,
    rows_of,
    script_data,
)
from reeds.photo.views.rows import NOT_READY, leads_back, measuring_of, onwards, photo_for
from reeds.photo.vision.refusal import PhotoRefused
from reeds.reed.actions import Entry
from reeds.reed.facts import answers_of
from reeds.reed.findings import findings_of
from reeds.wording import say
from studio.access import MemberRequest
from studio.asked import tries_in
from studio.errors import NotPossible


def _bench(request: MemberRequest, photo: Photo, row: PhotoMeasuring | None = None) -> PhotoBench:
    return bench_of(photo, row or measuring_of(request, photo), request.member)


@require_safe
@never_cache
def measure(request: MemberRequest, pk: int) -> HttpResponse:
    """The photo with its points; while the worker still looks, the page says so and asks again."""
    photo = photo_for(request, pk)
    row = measuring_of(request, photo)
    if not (photo.is_ready and row.is_looked_at):
        return render(request, NOT_READY, {"photo": photo, "row": row, "tries": 1})
    if row.looked_for == OPENING:
        back = "?back=draft" if leads_back(request) else ""
        return redirect(request.member.to("reeds:opening", photo.pk) + back)
    return render(request, "reeds/photo/measure.html", _page(request, _bench(request, photo, row)))


def _page(request: MemberRequest, bench: PhotoBench) -> dict[str, Any]:
    photo, member = bench.photo, request.member
    addresses = {
        "screen": member.to("reeds:photo", photo.pk, "screen"),
        "large": member.to("reeds:photo", photo.pk, "large"),
        "full": member.to("reeds:photo", photo.pk, "upright"),
        "figures": member.to("reeds:figures", photo.pk),
        # what is not kept yet stays in this person's browser
        "mine": f"{member.person_id}/reed/{photo.pk}/{photo.width}",
    }
    return {
        "photo": photo,
        "bench": bench,
        "places": places_of(bench),
        "references": REFERENCES,
        "rows": rows_of(bench),
        "moistures": list(Moisture),
        "key": uuid.uuid4(),
        "back": leads_back(request),
        "data": json.dumps(script_data(bench, first_result(bench), addresses)),
    }


@require_POST
def look(request: MemberRequest, pk: int) -> HttpResponse:
    """Have a photo looked at."""
    photo = photo_for(request, pk)
    ask_to_look(photo)
    if request.htmx:
        page = {"photo": photo, "row": measuring_of(request, photo), "tries": 1}
        return render(request, "reeds/photo/_looking.html", page)
    return redirect(request.member.to("reeds:measure", photo.pk))


@require_safe
@never_cache
def looking(request: MemberRequest, pk: int) -> HttpResponse:
    """Say how far the worker is; once it is done the page is told to open itself anew."""
    photo = photo_for(request, pk)
    row = measuring_of(request, photo)
    page = {"photo": photo, "row": row, "tries": tries_in(request)}
    answer = render(request, "reeds/photo/_looking.html", page)
    if photo.is_ready and row.is_looked_at:
        answer["HX-Refresh"] = "true"
    return answer


def _computed(bench: PhotoBench, form: MeasureForm) -> PhotoLengths | str:
    """Return the lengths, or the sentence that says why there are none."""
    if not form.is_valid():
        return form.said
    try:
        return result_of(bench.photo, bench.row, form.given)
    except PhotoRefused as refusal:
        return say(refusal)


@require_POST
@never_cache
def figures(request: MemberRequest, pk: int) -> JsonResponse:
    """Answer a drop with the matrices, every length with its doubt, and remarks; nothing is kept."""
    bench = _bench(request, photo_for(request, pk))
    result = _computed(bench, MeasureForm(request.member, bench.photo, request.POST))
    if isinstance(result, str):
        return JsonResponse({"refusal": result}, status=422)
    return JsonResponse(answer_of(bench, result))


@require_POST
def keep(request: MemberRequest, pk: int) -> HttpResponse:
    """Keep the lengths that are ticked as numbers of the reed, and show what the checks say of them."""
    bench = _bench(request, photo_for(request, pk))
    form = MeasureForm(request.member, bench.photo, request.POST)
    result = _computed(bench, form)
    if isinstance(result, str):
        return _said(request, bench, refusal=result)
    moisture = Moisture(form.cleaned_data["moisture"] or Moisture.UNKNOWN)
    told = entries_of(bench, result)
    entries = [replace(told[key], moisture=moisture) for key in told if key in form.ticked]
    try:
        _refuse_unlikely(entries)
        rows = keep_lengths(bench.photo, request.member, form.given, result, entries, form.once)
    except NotPossible as refusal:
        return _said(request, bench, refusal=str(refusal))
    if not request.htmx:
        return redirect(onwards(request, bench.photo))
    keys = {row.quantity for row in rows}
    found = findings_of(bench.photo.reed, answers=answers_of(bench.photo.reed))
    about = [one for one in found if any(keys & keys_of(part) for part in (one, *one.parts))]
    return _said(request, bench, kept=rows, findings=about, key=uuid.uuid4(), can_compare=True)


def _refuse_unlikely(entries: list[Entry]) -> None:
    if not all(is_plausible(one) for one in entries):
        raise NotPossible(_("A length cannot be right: look at its points again, or untick it."))


def _said(request: MemberRequest, bench: PhotoBench, **more: Any) -> HttpResponse:  # noqa: ANN401  # what the partial shows
    status = 422 if more.get("refusal") else 200
    page = {"photo": bench.photo, "back": leads_back(request), **more}
    return render(request, "reeds/photo/_kept.html", page, status=status)
