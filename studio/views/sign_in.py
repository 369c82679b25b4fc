"""A password forgotten: the student opens the link that the teacher made and chooses a new one."""

from __future__ import annotations

from typing import cast

from allauth.account.internal.flows.login import perform_login
from allauth.account.models import Login
from allauth.core.internal import ratelimit
from allauth.mfa.webauthn.views import login_webauthn
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from studio import actions
from studio.errors import NotPossible
from studio.forms import NewPasswordForm
from studio.links import find
from studio.models import SignInLink
from studio.views.join import closed

CHALLENGE_S = 10 * 60


@login_not_required
def by_passkey(request: HttpRequest) -> HttpResponse:
    """Sign in by a passkey, as allauth has it; a stranger's challenge is a session of minutes, counted."""
    asked = request.method == "GET"
    if asked and not ratelimit.consume(request, app="allauth.account", action="challenge", limit_get=True):
        return cast(HttpResponse, ratelimit.respond_429(request))
    response = cast(HttpResponse, login_webauthn(request))
    if asked and request.session.modified:
        request.session.set_expiry(CHALLENGE_S)
    return response


@login_not_required
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in(request: HttpRequest, token: str) -> HttpResponse:
    """Choose a new password and be signed in."""
    link = find(SignInLink, token)
    if link is None or not link.is_open:
        return closed(request, link)
    form = NewPasswordForm(link.member.person, request.POST or None)
    if not form.is_valid():
        words = {"form": form, "person": link.member.person}
        return render(request, "studio/sign_in.html", words, status=422 if form.is_bound else 200)
    try:
        person = actions.choose_password(link, form.cleaned_data["password"])
    except NotPossible as refusal:
        return closed(request, link, str(refusal))
    # as by the password: whoever has a second step is asked for it
    signing_in = Login(user=person, redirect_url=link.member.to("home"))
    return cast(HttpResponse, perform_login(request, signing_in))
