"""The language of this browser, chosen by who is not signed in; one's own stands on one's own page."""

from __future__ import annotations

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_http_methods

from studio.languages import keep_in_browser


@login_not_required
@require_http_methods(["GET", "HEAD", "POST"])
def language(request: HttpRequest) -> HttpResponse:
    """Offer the languages; keep the chosen one in this browser and lead back."""
    if request.method != "POST" or "language" not in request.POST:
        return render(request, "studio/language.html")
    response = redirect(_back(request))
    keep_in_browser(response, request.POST["language"])
    return response


def _back(request: HttpRequest) -> str:
    """Return the page one came from, if it is one of ours."""
    asked = request.POST.get("next", "")
    is_ours = url_has_allowed_host_and_scheme(asked, {request.get_host()}, require_https=request.is_secure())
    return asked if is_ours else "start"
