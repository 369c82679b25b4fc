"""The playing test of a measuring sheet: which items, their order, notes and tempo."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from reeds.sheet.actions import sheet as actions
from reeds.sheet.forms.playing import TestForm, WhyForm
from reeds.sheet.models.pattern import Pattern, PatternVersion
from reeds.sheet.views.patterns import say_saved
from studio.access import MemberRequest, fetch
from studio.roles import teachers_only


@require_http_methods(["GET", "HEAD", "POST"])
@teachers_only
def edit(request: MemberRequest, pk: int) -> HttpResponse:
    """Change a sheet's playing test; saving makes the next version."""
    pattern = fetch(Pattern, request.member, pk)
    current = pattern.current
    if request.method != "POST":
        return _page(request, current, TestForm(current.test), WhyForm(initial={"seen": current.number}))
    test, why = TestForm(current.test, request.POST), WhyForm(request.POST)
    if not (test.is_valid() & why.is_valid()):
        refusal = test.refusal or _("Something here cannot be right: see below. Nothing of the rest is lost.")
        return _page(request, current, test, why, refusal)
    given = why.cleaned_data
    try:
        version = actions.change_test(pattern, request.member, test.items, given["why"], given["seen"])
    except actions.ChangedMeanwhile as reason:
        current, data = pattern.current, request.POST.copy()
        data["seen"] = str(current.number)  # saving again is meant
        return _page(request, current, test, WhyForm(data), str(reason))
    say_saved(request, version, _("The playing test is as it was: no new version was needed."))
    return redirect(request.member.to("reeds:pattern", pk) + "#playing")


def _page(
    request: MemberRequest, current: PatternVersion, test: TestForm, why: WhyForm, refusal: str = ""
) -> HttpResponse:
    page = {"pattern": current.pattern, "version": current, "test": test, "why": why, "refusal": refusal}
    return render(request, "reeds/sheet/playing_edit.html", page, status=422 if refusal else 200)
