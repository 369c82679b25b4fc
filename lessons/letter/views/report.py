"""The studio's report of a term: for its teachers, on a page and as PDF."""

from __future__ import annotations

import contextlib

from django.http import HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from lessons.letter import actions
from lessons.letter.libraries import can_press
from lessons.letter.models import TermReport
from lessons.letter.pages.listed import rows_of
from lessons.letter.pages.report import MOST_SAID, MOST_STUDENTS, first, spoken, student_rows
from lessons.term.pages import TermFigures
from lessons.term.said import told
from studio.access import MemberRequest, fetch
from studio.asked import tries_in
from studio.kept import file_answer
from studio.models import Term
from studio.roles import teachers_only


def _term(request: MemberRequest, pk: int) -> Term:
    return fetch(Term.objects.select_related("studio"), request.member, pk)


def _figures(request: MemberRequest, term: Term) -> dict[str, object]:
    figures, listed = TermFigures(term, request.member), rows_of(request.member, term)
    said = [(of.student, of.sentences) for of in told(figures.rows, [one.student for one in listed])]
    students = student_rows(listed, figures.rows.reeds, figures.rows.waits)
    return {
        "term": term,
        "figures": figures,
        "found": figures.found[:6],
        "said": first(spoken(said), MOST_SAID),
        "students": first(students, MOST_STUDENTS),
        "at": timezone.now(),
    }


def _made(request: MemberRequest, term: Term, tries: int) -> dict[str, object]:
    row = TermReport.objects.visible_to(request.member).filter(term=term).first()
    return {"term": term, "report": row, "can_press": can_press(), "tries": tries}


@require_safe
@never_cache
@teachers_only
def report(request: MemberRequest, pk: int) -> HttpResponse:
    """The report as it stands now, and its PDF as it was made last."""
    term = _term(request, pk)
    page = _figures(request, term) | _made(request, term, 0)
    return render(request, "lessons/letter/report.html", page)


@require_POST
@teachers_only
def make(request: MemberRequest, pk: int) -> HttpResponse:
    """Have the report as it stands now made as PDF."""
    term = _term(request, pk)
    html = render_to_string("lessons/letter/report_document.html", _figures(request, term))
    actions.keep_report(term, request.member, html)
    if request.htmx:
        return render(request, "lessons/letter/_report_pdf.html", _made(request, term, 1))
    return redirect(request.member.to("lessons:report", pk))


@require_safe
@never_cache
@teachers_only
def made(request: MemberRequest, pk: int) -> HttpResponse:
    """Say how far the worker is with the PDF; the page asks until it is there, then stops."""
    page = _made(request, _term(request, pk), tries_in(request))
    return render(request, "lessons/letter/_report_pdf.html", page)


@require_safe
@never_cache
@teachers_only
def pdf(request: MemberRequest, pk: int) -> HttpResponseBase:
    """The PDF as it was made last; without one, the report's page."""
    term = _term(request, pk)
    row = TermReport.objects.visible_to(request.member).filter(term=term).first()
    name = slugify(f"{term.studio} {term}") or "report"
    with contextlib.suppress(FileNotFoundError):
        if row and row.pdf:
            return file_answer(row.pdf, "application/pdf", filename=f"{name}.pdf")
    return redirect(request.member.to("lessons:report", pk))
