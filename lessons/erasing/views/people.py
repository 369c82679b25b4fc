"""Erasing somebody: by a teacher of their studio, or by their own hand once a teacher agreed."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth import logout
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from lessons.erasing import actions
from lessons.erasing.forms import EraseForm
from lessons.erasing.pages import Preview, why_not
from studio import erasing
from studio.access import MemberRequest, StudioQuerySet, fetch
from studio.errors import NotPossible
from studio.models import Member, Person, studios_of
from studio.roles import guardians_too, teachers_only


def _known(request: MemberRequest) -> StudioQuerySet[Member]:
    rows = Member.objects.visible_to(request.member).filter(erased_at__isnull=True)
    return rows.select_related("person", "studio")


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
@teachers_only
def erase(request: MemberRequest, pk: int) -> HttpResponse:
    """Show what would go of one of the studio's people, and erase them once their name was typed."""
    found = fetch(_known(request), request.member, pk)
    if found.pk == request.member.pk:
        return redirect(request.member.to("lessons:erase_me"))
    form = EraseForm(str(found), request.POST or None)
    if form.is_valid() and _done(form, found, request.member):
        messages.success(request, _("Erased. What is left is a number."))
        return redirect(request.member.to("people"))
    return _page(request, "lessons/erasing/erase.html", found, form)


def _done(form: EraseForm, found: Member, by: Member) -> bool:
    """Do it, or have the form say why not."""
    try:
        actions.erase_person(found, by, numbers_too=form.cleaned_data["numbers_too"])
    except NotPossible as refusal:
        form.add_error(None, str(refusal))
        return False
    return True


def _page(request: MemberRequest, template: str, found: Member, form: EraseForm) -> HttpResponse:
    page = {
        "found": found,
        "form": form,
        "preview": Preview(found),
        "refusal": why_not(found, request.member),
    }
    return render(request, template, page, status=422 if form.errors else 200)


@require_POST
@teachers_only
def agree(request: MemberRequest, pk: int) -> HttpResponse:
    """Leave it to whoever asked."""
    try:
        erasing.agree(fetch(_known(request), request.member, pk), request.member)
    except NotPossible as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, _("They can erase themselves now, on their own page."))
    return redirect(request.member.to("member", pk))


@guardians_too
@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def erase_me(request: MemberRequest) -> HttpResponse:
    """Ask to be erased; once a teacher agreed, do it."""
    found = request.member
    form = EraseForm(str(found), request.POST or None)
    if form.is_valid() and _done(form, found, found):
        return gone(request, found.person)
    return _page(request, "lessons/erasing/erase_me.html", found, form)


def gone(request: MemberRequest, person: Person) -> HttpResponse:
    """Say so; whoever is in no other studio is signed out."""
    if not studios_of(person):
        logout(request)
    messages.success(request, _("Erased. What is left is a number."))
    return redirect("start")


@guardians_too
@require_POST
def ask(request: MemberRequest) -> HttpResponse:
    """Ask the studio's teachers for it."""
    try:
        erasing.ask_to_be_erased(request.member)
    except NotPossible as refusal:
        messages.error(request, str(refusal))
    return redirect(request.member.to("lessons:erase_me"))


@guardians_too
@require_POST
def stay(request: MemberRequest) -> HttpResponse:
    """Take that back."""
    erasing.stay(request.member)
    return redirect(request.member.to("lessons:erase_me"))
