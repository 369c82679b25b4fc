"""An e-mail address: the link that was sent there, and having it sent once more."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from studio import addresses
from studio.access import MemberRequest
from studio.models import Person
from studio.roles import guardians_too


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def address(request: HttpRequest, token: str) -> HttpResponse:
    """Say that it is one's own; only whoever asked for it can, signed in."""
    person = request.user
    if not isinstance(person, Person) or not addresses.is_asked_of(person, token):
        why = _(
            "This link is too old or used already, or another user name asked for it. Look on your own page."
        )
        return render(request, "studio/link_closed.html", {"why": why}, status=404)
    if request.method != "POST":
        return render(request, "studio/address.html")
    addresses.confirm(person)
    messages.success(request, _("E-mail goes to %(email)s from now on.") % {"email": person.email})
    return redirect("start")


@guardians_too
@require_POST
def ask_again(request: MemberRequest) -> HttpResponse:
    """Send the link once more."""
    person = request.member.person
    if not person.email_wanted:
        messages.error(request, _("No address waits to be confirmed."))
    elif not addresses.may_be_asked(request, person.email_wanted):
        messages.error(request, addresses.TOO_OFTEN)
    else:
        addresses.ask(person)
        messages.success(request, _("The link goes out to %(email)s.") % {"email": person.email_wanted})
    return redirect(request.member.to("me"))
