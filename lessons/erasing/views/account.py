"""An account of no studio, erased by its owner."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from lessons.erasing import actions
from lessons.erasing.forms import EraseForm
from lessons.erasing.pages import previews_of
from studio.models import Person, studios_of


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def erase_account(request: HttpRequest) -> HttpResponse:
    """Show what would go, and erase it once the name was typed; who is in a studio asks there."""
    person = request.user
    assert isinstance(person, Person)  # noqa: S101  # only who is signed in gets here
    members = studios_of(person)
    form = EraseForm(str(person), request.POST or None)
    if not members and form.is_valid():
        actions.erase_account(person, numbers_too=form.cleaned_data["numbers_too"])
        logout(request)
        messages.success(request, _("Erased. What is left is a number."))
        return redirect("start")
    page = {"form": form, "members": members, "previews": previews_of(person)}
    return render(request, "lessons/erasing/erase_account.html", page, status=422 if form.is_bound else 200)
