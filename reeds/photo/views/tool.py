"""Check the tool: a reed of one's own by photo and by caliper, and what the studio's photos are worth."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST, require_safe

from reeds.photo.actions.tool import note_by_caliper
from reeds.photo.forms.tool import CaliperForm
from reeds.photo.models.photo import Photo
from reeds.photo.pages.tool import came_out, checkable_of, photos_to_check
from studio.access import MemberRequest, fetch
from studio.errors import NotPossible


def _page(request: MemberRequest, bound: tuple[int, CaliperForm] | None = None) -> HttpResponse:
    page = {"photos": photos_to_check(request.member, bound), "came_out": came_out(request.member)}
    return render(request, "reeds/photo/tool.html", page, status=422 if bound else 200)


@require_safe
def check_tool(request: MemberRequest) -> HttpResponse:
    """The guide, one's measured photos, and what came out so far."""
    return _page(request)


@require_POST
def by_caliper(request: MemberRequest, pk: int) -> HttpResponse:
    """Keep what a caliper says of a photo's lengths."""
    photo = fetch(Photo, request.member, pk)
    form = CaliperForm(checkable_of(photo, request.member), request.POST, auto_id=f"photo-{photo.pk}-%s")
    if not form.is_valid():
        return _page(request, (photo.pk, form))
    try:
        count = note_by_caliper(photo, request.member, form.typed())
    except NotPossible as refusal:
        form.add_error(None, str(refusal))
        return _page(request, (photo.pk, form))
    said = ngettext("%(n)s length is kept.", "%(n)s lengths are kept.", count)
    messages.success(request, said % {"n": count})
    return redirect(request.member.to("reeds:check_tool"))
