"""The studio's terms: the list, a new one, changing one."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from studio import actions
from studio.access import MemberRequest, fetch
from studio.forms import TermForm
from studio.models import Term
from studio.roles import teachers_only


@require_safe
@teachers_only
def terms(request: MemberRequest) -> HttpResponse:
    """All terms, the newest first."""
    return render(request, "studio/terms.html", {"terms": Term.objects.visible_to(request.member)})


@require_http_methods(["GET", "HEAD", "POST"])
@teachers_only
def new_term(request: MemberRequest) -> HttpResponse:
    """Name a new term."""
    return _edit(request, Term(studio=request.member.studio))


@require_http_methods(["GET", "HEAD", "POST"])
@teachers_only
def edit_term(request: MemberRequest, pk: int) -> HttpResponse:
    """Change a term's name or days."""
    return _edit(request, fetch(Term, request.member, pk))


@require_POST
@teachers_only
def drop_term(request: MemberRequest, pk: int) -> HttpResponse:
    """Take a term away; reeds and answers of its days stay."""
    term = fetch(Term, request.member, pk)
    actions.drop_term(term)
    messages.success(
        request, _("%(term)s is taken away; the reeds and answers of its days stay.") % {"term": term}
    )
    return redirect(request.member.to("terms"))


def _edit(request: MemberRequest, term: Term) -> HttpResponse:
    form = TermForm(request.POST or None, instance=term)
    if not form.is_valid():
        return render(request, "studio/edit_term.html", {"form": form}, status=422 if form.is_bound else 200)
    overlapping = actions.save_term(form.save(commit=False))
    messages.success(request, _("Kept."))
    for other in overlapping:
        messages.warning(request, _("Some of its days belong to %(term)s as well.") % {"term": other})
    return redirect(request.member.to("terms"))
