"""Noting that one's knife was sharpened."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from reeds.reed.actions import sharpened as note
from reeds.reed.forms.knife import KnifeForm
from studio.access import MemberRequest


@require_POST
def sharpened(request: MemberRequest) -> HttpResponse:
    """Keep the day; back to the box, with what was wrong if it cannot be."""
    form = KnifeForm(request.POST)
    if form.is_valid():
        note(request.member, form.cleaned_data["sharpened_on"])
        messages.success(request, _("It is noted on the box."))
    else:
        messages.error(request, " ".join(str(error) for error in form.errors["sharpened_on"]))
    return redirect(request.member.to("reeds:box"))
