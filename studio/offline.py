"""What a phone may keep of our pages for rooms without a signal, and whose that is.

Every page says in a header for whom it was made: an opaque name, another one with each signing in. The
worker in the browser (static/js/worker) keeps pages under that name, and nothing under any other; a page made
for nobody clears all. Kept are only answers whose view says so, and only on the phone of a student, whose own
reeds they show: whoever teaches, or looks after somebody, has others' reeds before them, and of those no
phone keeps anything but the look of the site.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any, TypeVar, cast

from django.http import HttpRequest, HttpResponse
from django.utils.crypto import salted_hmac
from django.utils.translation import get_language

from studio.models import Member, Role

View = TypeVar("View", bound=Callable[..., HttpResponse])
MADE_FOR, KEEP = "Made-For", "Keep-Offline"
NOBODY = "nobody"
SALT = "studio.offline"


def name_of(request: HttpRequest) -> str:
    """Return the name of whoever is signed in by this session; it leads back to neither.

    In another language it is another, so that no page is kept in the one of before.
    """
    if not request.user.is_authenticated:
        return NOBODY
    told = f"{request.session.session_key} {get_language()}"
    return salted_hmac(SALT, told, algorithm="sha256").hexdigest()[:24]


def keeps_offline(member: Member | None) -> bool:
    """Whether pages of this member are kept on their phone."""
    return member is not None and member.role == Role.STUDENT


def made_for_somebody(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[..., HttpResponse]:
    """Have each answer say for whom it was made, where that was asked, and each page.

    One that says what is broken asks nobody.
    """

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        is_page = response.headers.get("Content-Type", "").startswith("text/html")
        if response.status_code < 500 and (is_page or request.session.accessed):
            response.headers[MADE_FOR] = name_of(request)
        return response

    return answer


def kept_offline(view: View) -> View:
    """Mark a view whose answer a student's phone keeps; a part of a page is none."""

    @wraps(view)
    def answer(request: Any, *args: object, **kwargs: object) -> HttpResponse:  # noqa: ANN401  # the view's own
        response = view(request, *args, **kwargs)
        if keeps_offline(request.member) and not request.htmx:
            response.headers[KEEP] = "yes"
        return response

    return cast("View", answer)
