"""Inviting somebody: the form, the page with the link, sending it and taking it back."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from studio import actions
from studio.access import MemberRequest, fetch
from studio.errors import NotPossible
from studio.forms import InviteForm
from studio.links import address, qr
from studio.models import Invitation
from studio.roles import teaching_only


@require_http_methods(["GET", "HEAD", "POST"])
@teaching_only
def invite(request: MemberRequest) -> HttpResponse:
    """Say who is invited and as what."""
    form = InviteForm(request.member, request.POST or None)
    if not form.is_valid():
        return render(request, "studio/invite.html", {"form": form}, status=422 if form.is_bound else 200)
    given = form.cleaned_data
    made = actions.invite(form.save(commit=False), request.member, given["days"], given.get("children", ()))
    return redirect(request.member.to("invitation", made.pk))


@require_safe
@never_cache
@teaching_only
def invitation(request: MemberRequest, pk: int) -> HttpResponse:
    """Show the link to give away: to copy, to scan or to send."""
    found = fetch(Invitation, request.member, pk)
    link = address(found, request)
    return render(request, "studio/invitation.html", {"invitation": found, "link": link, "qr": qr(link)})


@require_POST
@teaching_only
def send(request: MemberRequest, pk: int) -> HttpResponse:
    """Send the link by e-mail."""
    found = fetch(Invitation, request.member, pk)
    try:
        actions.send_invitation(found)
    except NotPossible as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, _("It goes out to %(email)s.") % {"email": found.email})
    return redirect(request.member.to("invitation", pk))


@require_POST
@teaching_only
def revoke(request: MemberRequest, pk: int) -> HttpResponse:
    """Take an invitation back."""
    actions.revoke(fetch(Invitation, request.member, pk))
    messages.success(request, _("The link no longer works."))
    return redirect(request.member.to("people"))
