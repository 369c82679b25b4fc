"""A guardian's consent to photos and recordings of one child: given, taken back, by their own hand."""

from __future__ import annotations

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from studio import guardians
from studio.access import MemberRequest, fetch
from studio.errors import NotPossible
from studio.forms import WithdrawForm
from studio.models import Member
from studio.roles import guardians_only


def _child(request: MemberRequest, pk: int) -> Member:
    """Return one of the asking guardian's children, or answer 404."""
    rows = Member.objects.visible_to(request.member)
    return fetch(rows.select_related("person", "guardian_consent_noted_by__person"), request.member, pk)


@guardians_only
@require_safe
@never_cache
def consent(request: MemberRequest, pk: int) -> HttpResponse:
    """How it stands, and what follows of either."""
    words = {"child": _child(request, pk), "form": WithdrawForm()}
    return render(request, "studio/child_consent.html", words)


def _done(request: MemberRequest, pk: int, act: Callable[[], str]) -> HttpResponse:
    """Do it and say what came of it, or why it cannot be done."""
    try:
        messages.success(request, act())
    except NotPossible as refusal:
        messages.error(request, str(refusal))
    return redirect(request.member.to("child_consent", pk))


@guardians_only
@require_POST
def give(request: MemberRequest, pk: int) -> HttpResponse:
    """Consent."""
    child = _child(request, pk)
    return _done(request, pk, lambda: guardians.give_consent(child, request.member))


@guardians_only
@require_POST
def take_back(request: MemberRequest, pk: int) -> HttpResponse:
    """Take the consent back, and say whether what was sent is erased at once."""
    child, form = _child(request, pk), WithdrawForm(request.POST)
    form.full_clean()
    at_once = form.cleaned_data["at_once"]
    return _done(request, pk, lambda: guardians.withdraw_consent(child, request.member, at_once=at_once))


@guardians_only
@require_POST
def erase(request: MemberRequest, pk: int) -> HttpResponse:
    """Erase what is hidden, before its time."""
    child = _child(request, pk)
    return _done(request, pk, lambda: guardians.erase_hidden(child, request.member))
