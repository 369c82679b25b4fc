"""A letter as it is read, on the page and as PDF; given by its teacher."""

from __future__ import annotations

import contextlib

from django.contrib import messages
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from lessons.letter import actions
from lessons.letter.models import Letter
from lessons.letter.pages.listed import listed
from lessons.letter.pages.reading import LetterPage
from studio.access import MemberRequest, fetch
from studio.asked import tries_in
from studio.errors import NotPossible
from studio.kept import file_answer
from studio.roles import guardians_too, teachers_only


def _fetch(request: MemberRequest, pk: int) -> Letter:
    along = ("studio", "term", "student__person", "given_by__person")
    return fetch(Letter.objects.select_related(*along), request.member, pk)


def _page(request: MemberRequest, pk: int, tries: int) -> dict[str, object]:
    page = LetterPage(_fetch(request, pk), request.member)
    return {"page": page, "letter": page.letter, "sheet": page.sheet, "tries": tries}


@guardians_too
@require_safe
@never_cache
def letters(request: MemberRequest) -> HttpResponse:
    """The letters one may read; for a teacher, whose letter of the term is written and whose is not."""
    page = listed(request.member, request.GET.get("term", ""))
    return render(request, "lessons/letter/letters.html", page)


@guardians_too
@require_safe
@never_cache
def letter(request: MemberRequest, pk: int) -> HttpResponse:
    """One letter, as its student reads it."""
    return render(request, "lessons/letter/letter.html", _page(request, pk, 0))


@require_POST
@teachers_only
def give(request: MemberRequest, pk: int) -> HttpResponse:
    """Give it to its student."""
    try:
        actions.give(_fetch(request, pk), request.member)
        messages.success(request, _("Given. It stays as it is; a change makes a new version."))
    except NotPossible as refusal:
        messages.error(request, str(refusal))
    return redirect(request.member.to("lessons:letter", pk))


@guardians_too
@require_POST
def make(request: MemberRequest, pk: int) -> HttpResponse:
    """Have the PDF made."""
    actions.ask_to_press(_fetch(request, pk))
    if request.htmx:
        return render(request, "lessons/letter/_pdf.html", _page(request, pk, 1))
    return redirect(request.member.to("lessons:letter", pk))


@guardians_too
@require_safe
@never_cache
def made(request: MemberRequest, pk: int) -> HttpResponse:
    """Say how far the worker is with the PDF; the page asks until it is there, then stops."""
    return render(request, "lessons/letter/_pdf.html", _page(request, pk, tries_in(request)))


@guardians_too
@require_safe
@never_cache
def pdf(request: MemberRequest, pk: int) -> HttpResponseBase:
    """The PDF, if it is of the letter as it stands; else the letter's page, which has it made."""
    page = LetterPage(_fetch(request, pk), request.member)
    name = slugify(f"{page.letter.student} {page.letter.term_name}") or "letter"
    with contextlib.suppress(FileNotFoundError):
        if page.pdf_is_there:
            return file_answer(page.letter.pdf, "application/pdf", filename=f"{name}.pdf")
    return redirect(request.member.to("lessons:letter", pk))
