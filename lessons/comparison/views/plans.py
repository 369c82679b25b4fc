"""Planned comparisons: set by a teacher, gone through by students, told when the day has come."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from lessons.comparison import actions
from lessons.comparison.forms.plan import BlankForm, PlanForm, WhyForm
from lessons.comparison.models import Allotment, PlannedComparison, blanks_by_student
from reeds.numbers.late import Late
from studio.access import MemberRequest, fetch
from studio.errors import NotPossible
from studio.roles import teachers_only

if TYPE_CHECKING:
    from lessons.comparison.pages import plan as planned
    from lessons.comparison.pages import report as reported
else:
    planned, reported = (Late(f"lessons.comparison.pages.{name}") for name in ("plan", "report"))


@require_safe
def comparisons(request: MemberRequest) -> HttpResponse:
    """Every comparison that was planned; a student sees those they take part in."""
    rows = PlannedComparison.objects.visible_to(request.member).prefetch_related("students__person")
    return render(request, "lessons/comparison/comparisons.html", {"rows": rows})


@teachers_only
def new(request: MemberRequest) -> HttpResponse:
    """Plan a comparison; its lots are drawn when it is kept."""
    form = PlanForm(request.member, request.POST or None)
    if not form.is_valid():
        status = 422 if form.is_bound else 200
        return render(request, "lessons/comparison/plan_form.html", {"form": form}, status=status)
    wanted = form.cleaned_data
    plan = actions.set_plan(
        form.save(commit=False), request.member, wanted["students"], with_blanks=wanted["with_blanks"]
    )
    return redirect(request.member.to("lessons:comparison", plan.pk))


def _fetch(request: MemberRequest, pk: int) -> PlannedComparison:
    return fetch(PlannedComparison.objects.select_related("studio", "made_by__person"), request.member, pk)


@require_safe
def comparison(request: MemberRequest, pk: int) -> HttpResponse:
    """One comparison as it stands, and what came of it when it is over."""
    return _page(request, _fetch(request, pk))


def _page(request: MemberRequest, plan: PlannedComparison, refused: str = "") -> HttpResponse:
    page = planned.PlanPage(plan, request.member)
    shown = {
        "plan": plan,
        "page": page,
        "report": reported.report(page),
        "refused": refused,
        "why_form": WhyForm(),
    }
    return render(request, "lessons/comparison/plan.html", shown, status=422 if refused else 200)


def _done(request: MemberRequest, plan: PlannedComparison, act: Callable[[], object]) -> HttpResponse:
    try:
        act()
    except NotPossible as refusal:
        return _page(request, plan, str(refusal))
    return redirect(request.member.to("lessons:comparison", plan.pk))


def _first_error(form: BlankForm | WhyForm) -> str:
    return " ".join(str(error) for errors in form.errors.values() for error in errors)


@require_POST
def allot(request: MemberRequest, pk: int) -> HttpResponse:
    """Give a blank the next place of its student; what is drawn for it is told then."""
    plan = _fetch(request, pk)
    students = plan.students.all() if request.member.teaches else [request.member]
    taken = [place.reed for place in plan.places.select_related("reed") if place.reed]
    free = [blank for blanks in blanks_by_student(plan, students).values() for blank in blanks]
    form = BlankForm(request.member, [*free, *taken], request.POST)
    if not form.is_valid():
        return _page(request, plan, _first_error(form))
    return _done(request, plan, lambda: actions.allot(plan, form.cleaned_data["reed"]))


@require_POST
def not_kept(request: MemberRequest, pk: int) -> HttpResponse:
    """Note that a reed did not go the way that was drawn for it, and why."""
    place = fetch(Allotment.objects.select_related("plan__studio"), request.member, pk)
    form = WhyForm(request.POST)
    if not form.is_valid():
        return _page(request, place.plan, _first_error(form))
    why = form.cleaned_data["why"]
    return _done(request, place.plan, lambda: actions.note_not_kept(place, request.member, why))


@require_POST
@teachers_only
def take_back(request: MemberRequest, pk: int) -> HttpResponse:
    """Take back a plan that nothing has been done by yet."""
    plan = _fetch(request, pk)
    return _done(request, plan, lambda: actions.take_back(plan))


@require_POST
@teachers_only
def stop(request: MemberRequest, pk: int) -> HttpResponse:
    """Stop a comparison before its day, and say why."""
    plan, form = _fetch(request, pk), WhyForm(request.POST)
    if not form.is_valid():
        return _page(request, plan, _first_error(form))
    return _done(request, plan, lambda: actions.stop(plan, form.cleaned_data["why"]))


@require_POST
@teachers_only
def put_away(request: MemberRequest, pk: int) -> HttpResponse:
    """Have a comparison that was read no longer stand among what is due."""
    plan = _fetch(request, pk)
    return _done(request, plan, lambda: actions.put_away(plan))
