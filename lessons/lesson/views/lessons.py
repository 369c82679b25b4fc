"""Lessons: those to come, those that were, one lesson with its notes and the work set in it."""

from __future__ import annotations

from django.db.models import Count
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from lessons.lesson import actions
from lessons.lesson.forms import LessonForm
from lessons.lesson.models import Lesson, SetWork
from studio.access import MemberRequest, fetch
from studio.roles import teachers_only


def lessons(request: MemberRequest) -> HttpResponse:
    """Lessons to come, the nearest first; lessons that were, the last first; work still open."""
    rows = Lesson.objects.visible_to(request.member).prefetch_related("present__person")
    now = timezone.now()
    open_work = SetWork.objects.visible_to(request.member).filter(done_at__isnull=True)
    page = {
        "coming": rows.filter(at__gte=now).order_by("at"),
        "past": rows.filter(at__lt=now)[:100],
        "open_work": open_work.select_related("student__person", "pattern").annotate(made=Count("reeds")),
    }
    return render(request, "lessons/lesson/lessons.html", page)


@teachers_only
def new(request: MemberRequest) -> HttpResponse:
    """Note a lesson."""
    return _form_page(request, Lesson())


@teachers_only
def edit(request: MemberRequest, pk: int) -> HttpResponse:
    """Change a lesson."""
    return _form_page(request, fetch(Lesson, request.member, pk))


def _form_page(request: MemberRequest, lesson: Lesson) -> HttpResponse:
    form = LessonForm(request.member, request.POST or None, instance=lesson)
    if not form.is_valid():
        status = 422 if form.is_bound else 200
        return render(
            request, "lessons/lesson/lesson_form.html", {"form": form, "lesson": lesson}, status=status
        )
    present = form.cleaned_data["present"]
    kept = actions.keep_lesson(form.save(commit=False), request.member, present, form.moments[1:])
    return redirect(request.member.to("lessons:lesson", kept.pk))


def lesson(request: MemberRequest, pk: int) -> HttpResponse:
    """One lesson as both sides see it; a student sees only their own set work."""
    lesson = fetch(Lesson.objects.select_related("held_by__person"), request.member, pk)
    work = SetWork.objects.visible_to(request.member).filter(lesson=lesson)
    work = work.select_related("student__person", "pattern").prefetch_related("reeds")
    present = lesson.present.select_related("person") if request.member.teaches else [request.member]
    return render(request, "lessons/lesson/lesson.html", {"lesson": lesson, "work": work, "present": present})


@require_POST
@teachers_only
def remove(request: MemberRequest, pk: int) -> HttpResponse:
    """Remove a lesson that did not happen; the work set in it stays."""
    fetch(Lesson, request.member, pk).delete()
    return redirect(request.member.to("lessons:lessons"))
