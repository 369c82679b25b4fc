"""Lessons: those to come, those that were, one lesson with all that it gathers."""

from __future__ import annotations

import uuid

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from lessons.lesson import actions
from lessons.lesson.forms import AgreedForm, LessonForm, NoteForm
from lessons.lesson.models import Lesson, LessonNote
from lessons.lesson.pages.gathered import gathered
from lessons.lesson.pages.listed import coming_of, open_work_of, past_of, with_names
from studio.access import MemberRequest, fetch
from studio.errors import NotPossible
from studio.roles import teaching_only


def lessons(request: MemberRequest) -> HttpResponse:
    """Lessons to come, the nearest first; lessons that were, the last first; work still open."""
    member, now, asked = request.member, timezone.now(), request.GET
    coming, past = coming_of(member, asked, "coming", now), past_of(member, asked, "past", now)
    if member.teaches:
        with_names(member, [*coming.rows, *past.rows])
    page = {"coming": coming, "past": past, "open_work": open_work_of(member, asked, "work")}
    return render(request, "lessons/lesson/lessons.html", page)


@teaching_only
def new(request: MemberRequest) -> HttpResponse:
    """Note a lesson."""
    return _form_page(request, Lesson())


@teaching_only
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
    note = form.cleaned_data.get("notes", "")
    kept = actions.keep_lesson(
        form.save(commit=False), request.member, present, also_at=form.moments[1:], first_note=note
    )
    return redirect(request.member.to("lessons:lesson", kept.pk))


def lesson(request: MemberRequest, pk: int) -> HttpResponse:
    """One lesson as both sides see it; a student sees only what is their own."""
    return _page(request, _fetch(request, pk))


def _fetch(request: MemberRequest, pk: int) -> Lesson:
    return fetch(Lesson.objects.select_related("held_by__person"), request.member, pk)


def _page(request: MemberRequest, lesson: Lesson, status: int = 200, **more: object) -> HttpResponse:
    notes = LessonNote.objects.visible_to(request.member).filter(lesson=lesson)
    page = {
        "lesson": lesson,
        "gathered": gathered(lesson, request.member),
        "notes": notes.select_related("by__person"),
        "note_form": NoteForm(),
        "agreed_form": AgreedForm(instance=lesson) if request.member.teaches else None,
    }
    return render(request, "lessons/lesson/lesson.html", {**page, **more}, status=status)


@require_POST
def note(request: MemberRequest, pk: int) -> HttpResponse:
    """Note something of a lesson; the same form twice notes it once."""
    lesson, form = _fetch(request, pk), NoteForm(request.POST)
    if not form.is_valid():
        return _page(request, lesson, status=422, note_form=form)
    key = form.cleaned_data["key"] or uuid.uuid4()
    try:
        actions.add_note(lesson, request.member, form.cleaned_data["words"], key)
    except NotPossible as refusal:
        form.add_error("words", str(refusal))
        return _page(request, lesson, status=422, note_form=form)
    return redirect(request.member.to("lessons:lesson", pk) + "#notes")


@require_POST
@teaching_only
def agree(request: MemberRequest, pk: int) -> HttpResponse:
    """Keep the one step that was agreed until the next lesson."""
    lesson, form = _fetch(request, pk), AgreedForm(request.POST)
    if not form.is_valid():
        return _page(request, lesson, status=422, agreed_form=form)
    actions.agree(lesson, form.cleaned_data["agreed"])
    return redirect(request.member.to("lessons:lesson", pk))


@require_POST
@teaching_only
def remove(request: MemberRequest, pk: int) -> HttpResponse:
    """Remove a lesson that did not happen; the work set in it stays."""
    fetch(Lesson, request.member, pk).delete()
    return redirect(request.member.to("lessons:lessons"))
