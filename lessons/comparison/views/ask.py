"""Ask of this term: a teacher's questions, kept, and their answers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import HttpResponse
from django.shortcuts import redirect, render

from lessons.comparison import actions
from lessons.comparison.forms.ask import AskForm
from reeds.numbers.late import Late
from studio.access import MemberRequest
from studio.asked import term_asked
from studio.errors import NotPossible
from studio.models import Member, Term
from studio.roles import teaching_only

if TYPE_CHECKING:
    from lessons.comparison.pages import ask as asking
else:
    asking = Late("lessons.comparison.pages.ask")


@teaching_only
def ask(request: MemberRequest) -> HttpResponse:
    """Show what was asked of a term with the answers; keep another question."""
    term = term_asked(request.member, request.GET.get("term", ""))
    if term is None:
        return render(request, "lessons/comparison/ask.html", {"term": None})
    page = asking.AskPage(term, request.member)
    labels = [{key: one.label for key, one in known.items()} for known in (page.outcomes, page.factors)]
    form = AskForm(*labels, page.lot_labels, request.POST if request.method == "POST" else None)
    if form.is_valid() and _kept(form, term, request.member):
        return redirect(f"{request.member.to('lessons:ask')}?term={term.pk}#answers")
    status = 422 if form.is_bound else 200
    shown = {"term": term, "terms": Term.objects.visible_to(request.member), "page": page, "form": form}
    return render(request, "lessons/comparison/ask.html", shown, status=status)


def _kept(form: AskForm, term: Term, by: Member) -> bool:
    asked = form.cleaned_data
    try:
        actions.ask(term, by, asked["outcome"], asked["factor"], asked["lot"])
    except NotPossible as refusal:
        form.add_error(None, str(refusal))
        return False
    return True
