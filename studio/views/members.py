"""One member as the teacher sees them: what is said of them, role, consent, leaving, a new password."""

from __future__ import annotations

from django.contrib import messages
from django.forms import BaseForm
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from studio import actions, guardians
from studio.access import MemberRequest, fetch
from studio.errors import NotPossible
from studio.forms import ChildrenForm, ConsentForm, MemberForm, RoleForm, WithdrawForm
from studio.links import address, qr
from studio.models import Member, Role, SignInLink
from studio.roles import teachers_only
from studio.second_step import has_second_step


@require_http_methods(["GET", "HEAD", "POST"])
@teachers_only
def member(request: MemberRequest, pk: int) -> HttpResponse:
    """Show a member; for a student, change what the teacher says of them."""
    found = _fetch(request, pk)
    form = MemberForm(request.POST or None, instance=found)
    if form.is_valid() and found.is_student:
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
    words = {
        "found": found,
        "guardians": found.signed_in_guardians,
        "has_second_step": has_second_step(found.person),
        "form": MemberForm(instance=found),
        "consent": ConsentForm(initial={"guardian_name": found.guardian_name}),
        "withdrawal": WithdrawForm(),
        "role": RoleForm(initial={"role": found.role}),
        "children": ChildrenForm(request.member, initial={"children": found.wards}),
        **given,
    }
    refused = any(form.errors for form in given.values())
    return render(request, "studio/member.html", words, status=422 if refused else 200)


@require_POST
@teachers_only
def change_role(request: MemberRequest, pk: int) -> HttpResponse:
    """Make somebody who is here something else."""
    found, form = _fetch(request, pk), RoleForm(request.POST)
    if form.is_valid():
        try:
            actions.change_role(found, request.member, Role(form.cleaned_data["role"]))
            messages.success(request, _("Kept."))
            if pk == request.member.pk:
                return redirect(request.member.to("home"))  # the people are a teacher's page
            return redirect(request.member.to("member", pk))
        except NotPossible as refusal:
            form.add_error("role", str(refusal))
    return _page(request, found, role=form)


@require_POST
@teachers_only
def tie(request: MemberRequest, pk: int) -> HttpResponse:
    """Say whose guardian somebody is."""
    found, form = _fetch(request, pk), ChildrenForm(request.member, request.POST)
    if form.is_valid():
        try:
            guardians.tie(found, request.member, form.cleaned_data["children"])
            messages.success(request, _("Kept."))
            return redirect(request.member.to("member", pk))
        except NotPossible as refusal:
            form.add_error("children", str(refusal))
    return _page(request, found, children=form)


@require_POST
@teachers_only
def consent(request: MemberRequest, pk: int) -> HttpResponse:
    """Note the guardian's consent."""
    found = _fetch(request, pk)
    form = ConsentForm(request.POST)
    if form.is_valid():
        given = form.cleaned_data
        try:
            guardians.note_consent(found, request.member, given["guardian_name"], given["given_on"])
            messages.success(request, _("Photos and recordings may be sent now."))
            return redirect(request.member.to("member", pk))
        except NotPossible as refusal:
            form.add_error(None, str(refusal))
    return _page(request, found, consent=form)


@require_POST
@teachers_only
def withdraw(request: MemberRequest, pk: int) -> HttpResponse:
    """Note that the guardian took the consent back."""
    found, form = _fetch(request, pk), WithdrawForm(request.POST)
    form.full_clean()
    at_once = form.cleaned_data["at_once"]
    messages.success(request, guardians.withdraw_consent(found, request.member, at_once=at_once))
    return redirect(request.member.to("member", pk))


@require_POST
@teachers_only
def end(request: MemberRequest, pk: int) -> HttpResponse:
    """End a membership."""
    try:
        actions.end_membership(_fetch(request, pk), request.member)
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
    actions.take_back(_fetch(request, pk), request.member)
    return redirect(request.member.to("member", pk))


@require_POST
@teachers_only
def drop_second_step(request: MemberRequest, pk: int) -> HttpResponse:
    """Let somebody who lost phone and codes sign in with the password alone."""
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
    """Make a link by which somebody chooses a new password."""
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
    """Show the link to give to whom it is for."""
    rows = SignInLink.objects.visible_to(request.member).select_related("member__person")
    found = fetch(rows, request.member, pk)
    whole = address(found, request)
    return render(request, "studio/sign_in_link.html", {"found": found, "link": whole, "qr": qr(whole)})
