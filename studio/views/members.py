"""One member as the teacher sees them: what is said of them, consent, leaving, a new password."""

from __future__ import annotations

from django.contrib import messages
from django.forms import BaseForm
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from studio import actions
from studio.access import MemberRequest, fetch
from studio.errors import NotPossible
from studio.forms import ConsentForm, MemberForm
from studio.links import address, qr
from studio.models import Member, SignInLink
from studio.roles import teachers_only
from studio.second_step import has_second_step


@require_http_methods(["GET", "HEAD", "POST"])
@teachers_only
def member(request: MemberRequest, pk: int) -> HttpResponse:
    """Show a member; for a student, change what the teacher says of them."""
    found = _fetch(request, pk)
    form = MemberForm(request.POST or None, instance=found)
    if form.is_valid() and not found.teaches:
        try:
            actions.change_student(form.save(commit=False), form.cleaned_data["name"])
        except NotPossible as refusal:
            form.add_error("name", str(refusal))
        else:
            messages.success(request, _("Kept."))
            return redirect(request.member.to("member", pk))
    return _page(request, _fetch(request, pk), form=form)


def _fetch(request: MemberRequest, pk: int) -> Member:
    rows = Member.objects.visible_to(request.member)
    return fetch(
        rows.select_related("person", "studio", "guardian_consent_noted_by__person"), request.member, pk
    )


def _page(request: MemberRequest, found: Member, **given: BaseForm) -> HttpResponse:
    started = {"guardian_name": found.guardian_name}
    words = {
        "found": found,
        "has_second_step": has_second_step(found.person),
        "form": MemberForm(instance=found),
        "consent": ConsentForm(initial=started),
        **given,
    }
    refused = any(form.errors for form in given.values())
    return render(request, "studio/member.html", words, status=422 if refused else 200)


@require_POST
@teachers_only
def consent(request: MemberRequest, pk: int) -> HttpResponse:
    """Note the guardian's consent."""
    found = _fetch(request, pk)
    form = ConsentForm(request.POST)
    if not form.is_valid():
        return _page(request, found, consent=form)
    actions.note_consent(
        found, request.member, form.cleaned_data["guardian_name"], form.cleaned_data["given_on"]
    )
    messages.success(request, _("Photos and recordings may be sent now."))
    return redirect(request.member.to("member", pk))


@require_POST
@teachers_only
def withdraw(request: MemberRequest, pk: int) -> HttpResponse:
    """Note that the guardian took the consent back."""
    actions.withdraw_consent(_fetch(request, pk))
    messages.success(request, _("No photo or recording can be sent from now on."))
    return redirect(request.member.to("member", pk))


@require_POST
@teachers_only
def end(request: MemberRequest, pk: int) -> HttpResponse:
    """End a membership."""
    try:
        actions.end_membership(_fetch(request, pk))
    except NotPossible as refusal:
        messages.error(request, str(refusal))
        return redirect(request.member.to("member", pk))
    if pk == request.member.pk:
        return redirect("start")
    messages.success(request, _("The membership has ended; the reeds and answers stay."))
    return redirect(request.member.to("people"))


@require_POST
@teachers_only
def back(request: MemberRequest, pk: int) -> HttpResponse:
    """Take somebody who left back in."""
    actions.take_back(_fetch(request, pk))
    return redirect(request.member.to("member", pk))


@require_POST
@teachers_only
def drop_second_step(request: MemberRequest, pk: int) -> HttpResponse:
    """Let a student who lost phone and codes sign in with the password alone."""
    try:
        actions.drop_second_step(_fetch(request, pk))
    except NotPossible as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, _("The password alone signs in now, until a second step is set up again."))
    return redirect(request.member.to("member", pk))


@require_POST
@teachers_only
def make_link(request: MemberRequest, pk: int) -> HttpResponse:
    """Make a link by which a student chooses a new password."""
    try:
        link = actions.make_sign_in_link(_fetch(request, pk), request.member)
    except NotPossible as refusal:
        messages.error(request, str(refusal))
        return redirect(request.member.to("member", pk))
    return redirect(request.member.to("sign_in_link", link.pk))


@require_safe
@never_cache
@teachers_only
def link(request: MemberRequest, pk: int) -> HttpResponse:
    """Show the link to give to the student."""
    rows = SignInLink.objects.visible_to(request.member).select_related("member__person")
    found = fetch(rows, request.member, pk)
    whole = address(found, request)
    return render(request, "studio/sign_in_link.html", {"found": found, "link": whole, "qr": qr(whole)})
