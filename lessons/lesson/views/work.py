"""Set work: set by a teacher, made by a student, what came of it seen from both sides."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from lessons.lesson import actions
from lessons.lesson.forms import CameOfItForm, MakeForWorkForm, WorkForm
from lessons.lesson.models import Lesson, SetWork
from lessons.lesson.pages.stock import stock_of
from reeds.reed.models.cane import CaneLot
from reeds.sheet.actions import sheet as sheet_actions
from studio.access import MemberRequest, fetch
from studio.asked import row_numbers
from studio.errors import NotPossible
from studio.roles import teaching_only


@teaching_only
def new(request: MemberRequest) -> HttpResponse:
    """Set work, in a lesson or between lessons."""
    asked = row_numbers(request.GET.getlist("lesson"))
    lesson = fetch(Lesson, request.member, asked[0]) if asked else None
    form = WorkForm(request.member, lesson, request.POST or None)
    if not form.is_valid():
        status = 422 if form.is_bound else 200
        return render(
            request, "lessons/lesson/work_form.html", {"form": form, "lesson": lesson}, status=status
        )
    made = actions.set_work(form.save(commit=False), request.member, form.cleaned_data["students"], lesson)
    where = ("lessons:lesson", lesson.pk) if lesson else ("lessons:work", made[0].pk)
    return redirect(request.member.to(*where))


def _fetch(request: MemberRequest, pk: int) -> SetWork:
    return fetch(SetWork.objects.select_related("student__person", "pattern", "lesson"), request.member, pk)


def work(request: MemberRequest, pk: int) -> HttpResponse:
    """What was set and what came of it."""
    row = _fetch(request, pk)
    return _page(request, row, CameOfItForm(row, request.member))


def _page(request: MemberRequest, row: SetWork, form: CameOfItForm) -> HttpResponse:
    lots = CaneLot.objects.visible_to(request.member).in_use().filter(owner=row.student).counted()
    open_work = SetWork.objects.visible_to(request.member).filter(student=row.student, done_at__isnull=True)
    page = {
        "work": row,
        "form": form,
        "made": row.reeds.order_by("number"),
        "stock": stock_of(lots, open_work.counted().values_list("count", "made")),  # type: ignore[misc]  # of `counted`
    }
    return render(request, "lessons/lesson/work.html", page, status=422 if form.is_bound else 200)


@require_POST
def came_of_it(request: MemberRequest, pk: int) -> HttpResponse:
    """Say which reeds came of it."""
    row = _fetch(request, pk)
    form = CameOfItForm(row, request.member, request.POST)
    if not form.is_valid():
        return _page(request, row, form)
    actions.choose_reeds(row, form.cleaned_data["reeds"])
    return redirect(request.member.to("lessons:work", row.pk))


@require_http_methods(["GET", "HEAD", "POST"])
def make(request: MemberRequest, pk: int) -> HttpResponse:
    """Make reeds for it; they are tied to it at once."""
    row = _fetch(request, pk)
    if row.student_id != request.member.pk:
        raise Http404  # a teacher makes reeds of their own, or for a student by hand
    sheet_actions.ready_for(request.member)
    form, refusal = MakeForWorkForm(row, request.POST or None), ""
    if form.is_valid():
        many = form.cleaned_data["count"], form.cleaned_data["number"]
        try:
            made = actions.make_for(row, form.reed(), request.member, *many)
            return redirect(request.member.to("reeds:made", made[0].batch))
        except NotPossible as reason:
            refusal = str(reason)
    page = {"work": row, "form": form, "refusal": refusal}
    return render(request, "lessons/lesson/work_make.html", page, status=422 if form.is_bound else 200)


@require_POST
@teaching_only
def remove(request: MemberRequest, pk: int) -> HttpResponse:
    """Take set work back, unless reeds came of it already."""
    row = _fetch(request, pk)
    if row.reeds.exists():
        raise Http404
    row.delete()
    return redirect(request.member.to("lessons:lessons"))
