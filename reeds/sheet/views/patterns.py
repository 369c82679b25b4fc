"""Measuring sheets: the list, one sheet, changing it, beginning another, putting one away."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.db import transaction
from django.db.models import QuerySet
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from reeds.checks.sheet import SheetError, moved
from reeds.sheet.actions import sheet as actions
from reeds.sheet.forms.rows import Doubts, by_stage, rows_of
from reeds.sheet.forms.sheet import (
    NewSheetForm,
    RowFormSet,
    SaveSheetForm,
    lines_of,
    rows_form,
    with_one_more,
)
from reeds.sheet.models.doubt import OwnDoubt
from reeds.sheet.models.pattern import Offset, Pattern, PatternQuerySet, PatternVersion
from reeds.wording import say
from studio.access import MemberRequest, Seer, fetch
from studio.errors import NotPossible
from studio.further import A_FEW, HALF, in_parts
from studio.models import NAMING, Member
from studio.offline import kept_offline
from studio.roles import teachers_only


@require_safe
def patterns(request: MemberRequest) -> HttpResponse:
    """The studio's measuring sheets; a new studio finds the starter ones here."""
    actions.ready_for(request.member)
    member, asked = request.member, request.GET
    page = {
        "in_use": _in_use(member, asked, "used"),
        "put_away": _put_away(member, asked, "away"),
        "students": _students(member, asked, "students") if member.leads else None,
    }
    return render(request, "reeds/sheet/patterns.html", page)


def _listed(member: Seer) -> PatternQuerySet:
    rows = Pattern.objects.visible_to(member).with_counts().order_by("name", "pk")
    return rows.only("name", "style", "put_away_at")


_in_use = in_parts(lambda member: _listed(member).filter(put_away_at__isnull=True))
_put_away = in_parts(lambda member: _listed(member).filter(put_away_at__isnull=False), A_FEW)
_students = in_parts(
    lambda member: Member.objects.visible_to(member).students().values_list("pk", *NAMING), HALF
)


def _doubts(request: MemberRequest) -> Doubts:
    return OwnDoubt.objects.visible_to(request.member).of(request.member.studio_id)


def _versions(request: MemberRequest, pattern: Pattern) -> QuerySet[PatternVersion]:
    rows = PatternVersion.objects.visible_to(request.member).filter(pattern=pattern)
    return rows.select_related("made_by__person").order_by("-number")


def _chosen(versions: list[PatternVersion], number: str) -> PatternVersion:
    """The version asked for in the address, else the newest."""
    if not number:
        return versions[0]
    for version in versions:
        if str(version.number) == number:
            return version
    raise Http404


@require_safe
@kept_offline
def pattern(request: MemberRequest, pk: int) -> HttpResponse:
    """One sheet as it stands, or an earlier version of it; a student sees it moved by their own offsets."""
    sheet_of = fetch(Pattern, request.member, pk)
    versions = list(_versions(request, sheet_of))
    version = _chosen(versions, request.GET.get("version", ""))
    own = Offset.objects.visible_to(request.member).of(request.member)
    page = {
        "pattern": sheet_of,
        "versions": versions,
        "version": version,
        "stages": by_stage(rows_of(moved(version.sheet, own), _doubts(request), own)),
    }
    return render(request, "reeds/sheet/pattern.html", page)


@require_http_methods(["GET", "HEAD", "POST"])
@teachers_only
def edit(request: MemberRequest, pk: int) -> HttpResponse:
    """Change a sheet: its rows, its name; saving makes the next version."""
    changed = fetch(Pattern, request.member, pk)
    current = changed.current
    if request.method != "POST":
        first = SaveSheetForm(initial={"name": changed.name, "seen": current.number})
        return _edit_page(request, current, rows_form(current.sheet), first)
    if "add" in request.POST:
        data = with_one_more(request.POST, request.POST.get("another", ""), current.sheet.known)
        return _edit_page(request, current, rows_form(current.sheet, data), SaveSheetForm(data), added=True)
    rows, save = rows_form(current.sheet, request.POST), SaveSheetForm(request.POST)
    try:
        if not (save.is_valid() & rows.is_valid()):
            raise NotPossible(_("One of the rows cannot be right: see below. Nothing of the rest is lost."))
        return _save(request, changed, current, rows, save)
    except SheetError as problem:
        refusal = say(problem)
    except actions.ChangedMeanwhile as reason:
        current, refusal = changed.current, str(reason)
        save = SaveSheetForm(_seen(request.POST, current.number))  # saving again is meant
    except NotPossible as reason:
        refusal = str(reason)
    return _edit_page(request, current, rows, save, refusal)


def _seen(data: QueryDict, number: int) -> QueryDict:
    """What was sent, as of somebody who has seen that version."""
    known = data.copy()
    known["seen"] = str(number)
    return known


@transaction.atomic
def _save(
    request: MemberRequest,
    changed: Pattern,
    current: PatternVersion,
    rows: RowFormSet,
    save: SaveSheetForm,
) -> HttpResponse:
    given = save.cleaned_data
    sheet = rows.sheet(current.sheet)
    version = actions.change_sheet(changed, request.member, sheet, given["why"], given["seen"])
    if given["name"] != changed.name:
        actions.rename(changed, given["name"])
    say_saved(request, version, _("The rows are as they were: no new version was needed."))
    return redirect(request.member.to("reeds:pattern", changed.pk))


def say_saved(request: MemberRequest, version: PatternVersion | None, unchanged: str) -> None:
    """Tell which version was saved, or that nothing had changed."""
    told = _("Version %d is saved. Reeds made from now on take it.")
    messages.success(request, told % version.number if version else unchanged)


def _edit_page(
    request: MemberRequest,
    current: PatternVersion,
    rows: RowFormSet,
    save: SaveSheetForm,
    refusal: str = "",
    *,
    added: bool = False,
) -> HttpResponse:
    page: dict[str, Any] = {
        "pattern": current.pattern,
        "version": current,
        "rows": rows,
        "save": save,
        "refusal": refusal,
        "added": added,
        "quantities": current.sheet.known.on_sheets,
        "another": request.GET.get("another", ""),
        "lines": lines_of(rows, current.sheet, _doubts(request)),
    }
    return render(request, "reeds/sheet/pattern_edit.html", page, status=422 if refusal else 200)


@require_http_methods(["GET", "HEAD", "POST"])
@teachers_only
def new(request: MemberRequest) -> HttpResponse:
    """Begin another sheet from a starter or from one that is there."""
    form = NewSheetForm(request.member, request.POST or None, initial={"begun_from": request.GET.get("from")})
    refusal = ""
    if form.is_valid():
        try:
            name, test = form.cleaned_data["name"], form.playing()
            made = actions.new_pattern(request.member, name, form.sheet(), form.why, test)
            return redirect(request.member.to("reeds:pattern_edit", made.pk))
        except NotPossible as reason:
            refusal = str(reason)
    page = {"form": form, "refusal": refusal}
    return render(request, "reeds/sheet/pattern_new.html", page, status=422 if form.is_bound else 200)


@require_POST
@teachers_only
def put_away(request: MemberRequest, pk: int) -> HttpResponse:
    """Put a sheet away, or take it up again."""
    sheet_of = fetch(Pattern, request.member, pk)
    try:
        if sheet_of.put_away_at:
            actions.take_up_again(sheet_of)
        else:
            actions.put_away(sheet_of)
    except NotPossible as reason:
        messages.error(request, str(reason))
    return redirect(request.member.to("reeds:patterns"))
