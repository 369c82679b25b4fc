"""A teacher writes a letter: what is proposed, what is kept, a spoken note to write down."""

from __future__ import annotations

import uuid

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from lessons.letter import actions
from lessons.letter.forms import LetterForm
from lessons.letter.models import Letter
from lessons.letter.pages.proposed import Proposals
from lessons.letter.pages.writing import Writing
from lessons.sending.views import draft as uploads
from lessons.term.rows import TermRows
from lessons.term.said import said_of
from studio.access import MemberRequest, fetch
from studio.errors import NotPossible
from studio.models import Member, Role, Term
from studio.reading import written_for
from studio.roles import teachers_only


def _writing(request: MemberRequest, student: int, term: int) -> Writing:
    members = Member.objects.visible_to(request.member).filter(role=Role.STUDENT).select_related("person")
    terms = Term.objects.visible_to(request.member).select_related("studio")
    of, about = fetch(members, request.member, student), fetch(terms, request.member, term)
    rows = TermRows(about, request.member, of)
    with written_for(of.person):
        proposals = Proposals(rows, said_of(about, request.member, of, rows), of)
    return Writing(request.member, of, about, proposals)


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@teachers_only
def write(request: MemberRequest, student: int, term: int) -> HttpResponse:
    """Choose and write; sent, keep it as a draft and show it as it will be read."""
    writing = _writing(request, student, term)
    form = writing.form(request.POST if request.method == "POST" else None)
    if form.is_valid():
        try:
            letter = actions.draft_of(writing.student, writing.term)
            actions.keep(letter, form.written, form.cleaned_data["since"])
            return redirect(request.member.to("lessons:letter", letter.pk))
        except NotPossible as refusal:
            form.add_error(None, str(refusal))
            writing = _writing(request, student, term)  # as it is now
    return _page(request, writing, form)


def _page(request: MemberRequest, writing: Writing, form: LetterForm) -> HttpResponse:
    page = {
        "writing": writing,
        "letter": writing.draft,
        "form": form,
        "groups": writing.groups(form),
        "chosen": writing.chosen(form),
        "voice_key": uuid.uuid4(),
    }
    return render(request, "lessons/letter/write.html", page, status=422 if form.is_bound else 200)


@require_POST
@teachers_only
def throw_away(request: MemberRequest, pk: int) -> HttpResponse:
    """Throw a draft away."""
    letter = fetch(Letter, request.member, pk)
    try:
        actions.throw_away(letter)
    except NotPossible:
        return redirect(request.member.to("lessons:letter", pk))
    return redirect(request.member.to("lessons:letters"))


# --- a spoken note --------------------------------------------------------------------------------------


@require_POST
@teachers_only
def put_voice(request: MemberRequest, student: int, term: int) -> HttpResponse:
    """Keep a note to write down; the page's key makes a second try harmless."""
    writing = _writing(request, student, term)
    missing = _("No recording came with it. Record it again.")
    too_old = _("The page is too old for this. Open it anew, then record again.")
    try:
        upload = uploads.upload_of(request, "voice", missing)
        key = uploads.key_of(request, "key", too_old)
        actions.put_voice(actions.draft_of(writing.student, writing.term), request.member, upload, key)
    except NotPossible as refusal:
        return _refused(request, refusal)
    return _note(request, student, term)


@require_POST
@teachers_only
def drop_voice(request: MemberRequest, student: int, term: int) -> HttpResponse:
    """Take the note out; taken out twice is the same as once."""
    writing = _writing(request, student, term)
    try:
        if writing.draft:
            actions.drop_voice(writing.draft)
    except NotPossible as refusal:
        return _refused(request, refusal)
    return _note(request, student, term)


def _refused(request: MemberRequest, refusal: NotPossible) -> HttpResponse:
    template = "lessons/voice/_refused.html" if request.htmx else "lessons/answering/gone.html"
    return render(request, template, {"refusal": refusal}, status=422)


def _note(request: MemberRequest, student: int, term: int) -> HttpResponse:
    if not request.htmx:
        return redirect(request.member.to("lessons:letter_write", student, term))
    writing = _writing(request, student, term)
    page = {"writing": writing, "letter": writing.draft, "voice_key": uuid.uuid4()}
    return render(request, "lessons/letter/_note.html", page)
