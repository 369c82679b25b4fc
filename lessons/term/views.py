"""Looking back on a term: a student's own, a student's for the teacher, or the studio's."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from lessons.term.pages import TermFigures
from lessons.term.said import told
from studio.access import MemberRequest, fetch
from studio.models import Member, Term, TermQuerySet


def term(request: MemberRequest, pk: int | None = None) -> HttpResponse:
    """Show the figures of one term; a student sees their own, whoever is asked for."""
    student = _student(request, pk)
    terms = Term.objects.visible_to(request.member)
    chosen = _chosen(request, terms)
    students = Member.objects.visible_to(request.member).students().select_related("person")
    figures = TermFigures(chosen, request.member, student) if chosen else None
    page = {
        "student": student,
        "terms": terms,
        "term": chosen,
        "students": students,
        "figures": figures,
        "told": told(figures.rows, students) if figures else [],
    }
    return render(request, "lessons/term/term.html", page)


def _student(request: MemberRequest, pk: int | None) -> Member | None:
    if not request.member.teaches and pk is None:
        return request.member
    return fetch(Member.objects.select_related("person"), request.member, pk) if pk else None


def _chosen(request: MemberRequest, terms: TermQuerySet) -> Term | None:
    asked = request.GET.get("term", "")
    if asked and not asked.isdigit():
        raise Http404
    if asked:
        return fetch(terms.select_related("studio"), request.member, int(asked))
    return terms.select_related("studio").holding(timezone.localdate())
