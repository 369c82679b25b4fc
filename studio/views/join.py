"""Coming with an invitation: as somebody new, or as somebody who is signed in already."""

from __future__ import annotations

from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from studio import actions
from studio.errors import NotPossible
from studio.forms import JoinForm
from studio.links import find, why_closed
from studio.models import Invitation, Link, Person, membership


@login_not_required
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def join(request: HttpRequest, token: str) -> HttpResponse:
    """Join the studio that the link was made for."""
    invitation = find(Invitation, token)
    if invitation is None:
        return closed(request, None)
    if isinstance(request.user, Person):
        return _join_further(request, invitation, request.user, token)
    if not invitation.is_open and request.method != "POST":
        return closed(request, invitation)
    return _join_new(request, invitation, token)


def closed(request: HttpRequest, link: Link | None, why: str = "") -> HttpResponse:
    """Say why a link does not work: 404 for one that never was, 410 for one that is over."""
    words = {"why": why or why_closed(link)}
    return render(request, "studio/link_closed.html", words, status=410 if link else 404)


def _join_new(request: HttpRequest, invitation: Invitation, token: str) -> HttpResponse:
    form = JoinForm(invitation, request.POST or None)
    if form.is_valid():
        try:
            member = actions.join(invitation, form.newcomer(invitation.proves(token)))
        except NotPossible as refusal:
            form.add_error(None, str(refusal))
        else:
            login(request, member.person)
            return redirect(member.to("home"))
    if not invitation.is_open:
        return closed(request, invitation)
    words = {"form": form, "invitation": invitation}
    return render(request, "studio/join.html", words, status=422 if form.is_bound else 200)


def _join_further(request: HttpRequest, invitation: Invitation, person: Person, token: str) -> HttpResponse:
    there = membership(person, invitation.studio_id)
    if there is None and not invitation.is_open:
        return closed(request, invitation)
    if request.method != "POST":
        return render(request, "studio/join_further.html", {"invitation": invitation, "there": there})
    try:
        member = actions.join_further(invitation, person, invitation.proves(token))
        return redirect(member.to("home"))
    except NotPossible as refusal:  # somebody was quicker
        return closed(request, invitation, str(refusal))
