"""One's own page."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from studio import actions
from studio.access import MemberRequest
from studio.forms import MeForm
from studio.models import studios_of
from studio.roles import guardians_too
from studio.sessions import end_others, signed_in_places


@guardians_too
@require_http_methods(["GET", "HEAD", "POST"])
def me(request: MemberRequest) -> HttpResponse:
    """Change one's own name and e-mail."""
    person = request.member.person
    form = MeForm(person, request.POST or None)
    if form.is_valid() and not form.asks_too_often(request):
        actions.change_own(person, form.cleaned_data["name"], form.cleaned_data["email"])
        sent = _("Kept. Open the link that goes out to %(email)s.") % {"email": person.email_wanted}
        messages.success(request, sent if person.email_wanted else _("Kept."))
        return redirect(request.member.to("me"))
    here = request.session.session_key or ""
    words = {"form": form, "studios": studios_of(person), "places": signed_in_places(person, here)}
    return render(request, "studio/me.html", words, status=422 if form.is_bound else 200)


@guardians_too
@require_POST
def sign_out_elsewhere(request: MemberRequest) -> HttpResponse:
    """End all sessions of this person but this one."""
    end_others(request)
    messages.success(request, _("Everywhere else you are signed out."))
    return redirect(request.member.to("me"))
