"""What the studio notes besides what everybody does: a teacher adds, changes and retires it."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from reeds.sheet.actions import own as actions
from reeds.sheet.forms.own import FORMS, OwnForm, form_of
from reeds.sheet.models.own import OwnQuantity
from reeds.sheet.models.pattern import Pattern
from studio.access import MemberRequest, fetch
from studio.errors import NotPossible
from studio.roles import teachers_only


@require_safe
@teachers_only
def own(request: MemberRequest) -> HttpResponse:
    """All of them, with how much there is of each, and the sheets they can be put on."""
    rows = list(OwnQuantity.objects.visible_to(request.member))
    uses = actions.uses_of(rows)
    shown = [(row, row.described, uses[row.pk]) for row in rows]
    page = {
        "in_use": [one for one in shown if one[0].retired_at is None],
        "retired": [one for one in shown if one[0].retired_at is not None],
        "patterns": Pattern.objects.visible_to(request.member).in_use(),
    }
    return render(request, "reeds/sheet/own.html", page)


def _form_page(
    request: MemberRequest, form: OwnForm, row: OwnQuantity | None, refusal: str = ""
) -> HttpResponse:
    page = {"form": form, "own": row, "refusal": refusal}
    return render(request, "reeds/sheet/own_form.html", page, status=422 if form.is_bound else 200)


@require_http_methods(["GET", "HEAD", "POST"])
@teachers_only
def add(request: MemberRequest, kind: str) -> HttpResponse:
    """Add one: a number, or a thing seen."""
    form = FORMS[kind](request.POST or None)
    if not form.is_valid():
        return _form_page(request, form, None)
    try:
        row = actions.add_own(request.member, form.described())
    except NotPossible as reason:
        return _form_page(request, form, None, str(reason))
    told = _("“%s” is added. It is asked once it stands on a measuring sheet.")
    seen = _("“%s” is added. Students find it at its stage, under what is noted at the bench.")
    messages.success(request, (told if row.is_number else seen) % row)
    return redirect(request.member.to("reeds:own"))


@require_http_methods(["GET", "HEAD", "POST"])
@teachers_only
def change(request: MemberRequest, pk: int) -> HttpResponse:
    """Describe one anew."""
    row = fetch(OwnQuantity, request.member, pk)
    form = form_of(row, request.POST or None)
    if not form.is_valid():
        return _form_page(request, form, row)
    try:
        actions.change_own(row, request.member, form.described())
    except NotPossible as reason:
        return _form_page(request, form, fetch(OwnQuantity, request.member, pk), str(reason))
    messages.success(request, _("Kept."))
    return redirect(request.member.to("reeds:own"))


@require_POST
@teachers_only
def retire(request: MemberRequest, pk: int) -> HttpResponse:
    """Retire one, or ask for it again."""
    row = fetch(OwnQuantity, request.member, pk)
    try:
        if row.retired_at:
            actions.ask_again(row, request.member)
            messages.success(request, _("“%s” is asked again.") % row)
        else:
            actions.retire(row)
            messages.success(request, _("“%s” is retired: asked no more; what was noted stays.") % row)
    except NotPossible as reason:
        messages.error(request, str(reason))
    return redirect(request.member.to("reeds:own"))
