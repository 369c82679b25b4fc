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
from studio.languages import keep_in_browser, read_by
from studio.models import studios_of
from studio.push.actions import choose
from studio.push.forms import ToldForm
from studio.push.signing import public_key
from studio.reading_form import ReadingForm
from studio.roles import guardians_too
from studio.sessions import PHONE, end_others, signed_in_places


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
    return _page(request, form)


@require_POST
def told(request: MemberRequest) -> HttpResponse:
    """Choose how one is told; on this device with what its browser gave."""
    person = request.member.person
    form = ToldForm(person, request.POST)
    if not form.is_valid():
        return _page(request, MeForm(person), form)
    phone = choose(person, form.way, form.device)
    if phone:
        request.session[PHONE] = phone.pk
    messages.success(request, _("Kept."))
    return redirect(request.member.to("me") + "#told")


@guardians_too
@require_POST
def reading(request: MemberRequest) -> HttpResponse:
    """Choose one's language and the names of notes; what is said of it is said in that language."""
    person = request.member.person
    form = ReadingForm(person, request.POST)
    if not form.is_valid():
        return _page(request, MeForm(person), reading=form)
    read_by(request, form.keep())
    messages.success(request, _("Kept."))
    response = redirect(request.member.to("me") + "#reading")
    keep_in_browser(response, person.language)
    return response


def _page(
    request: MemberRequest, form: MeForm, told: ToldForm | None = None, reading: ReadingForm | None = None
) -> HttpResponse:
    person, session = request.member.person, request.session
    words = {
        "form": form,
        "told": told or ToldForm(person),
        "reading": reading or ReadingForm(person),
        "push_key": public_key(),
        "phones": list(person.phones.values_list("pk", flat=True)),
        "this_phone": session.get(PHONE),
        "studios": studios_of(person),
        "places": signed_in_places(person, session.session_key or ""),
    }
    is_bound = form.is_bound or told is not None or reading is not None
    return render(request, "studio/me.html", words, status=422 if is_bound else 200)


@guardians_too
@require_POST
def sign_out_elsewhere(request: MemberRequest) -> HttpResponse:
    """End all sessions of this person but this one."""
    end_others(request)
    messages.success(request, _("Everywhere else you are signed out."))
    return redirect(request.member.to("me"))
