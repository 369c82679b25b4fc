"""Pages in the language of whoever reads them; the browser's or a cookie's came before, by Django's own."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.contrib.auth.signals import user_logged_in
from django.dispatch import receiver
from django.http import HttpRequest, HttpResponse
from django.utils import translation

from studio.models import Person
from studio.reading import call_notes, known, notes_called


class OwnLanguage:
    """Has the pages of who is signed in be in the language they chose.

    Pages for everybody ask for no session: there a cookie tells it, which follows the choice.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        with notes_called(""):
            response = self.get_response(request)
        chosen = getattr(request, "reads", "")
        if chosen and request.COOKIES.get(settings.LANGUAGE_COOKIE_NAME) != chosen:
            keep_in_browser(response, chosen)
        return response

    def process_view(self, request: HttpRequest, view: object, _args: object, _kwargs: object) -> None:
        if getattr(view, "login_required", True) and isinstance(request.user, Person):
            read_by(request, request.user)


def read_by(request: HttpRequest, person: Person) -> None:
    """Have the rest of this request be as the person reads."""
    call_notes(person.note_names)
    if known(person.language):
        translation.activate(person.language)
        request.reads = person.language  # type: ignore[attr-defined]  # for the cookie


def keep_in_browser(response: HttpResponse, language: str) -> None:
    """Have this browser ask for this language from now on; '' for its own."""
    if not known(language):
        response.delete_cookie(settings.LANGUAGE_COOKIE_NAME)
        return
    response.set_cookie(
        settings.LANGUAGE_COOKIE_NAME,
        language,
        max_age=settings.LANGUAGE_COOKIE_AGE,
        secure=settings.LANGUAGE_COOKIE_SECURE,
        httponly=settings.LANGUAGE_COOKIE_HTTPONLY,
        samesite="Lax",
    )


@receiver(user_logged_in)
def note_language(user: Person, **_told: Any) -> None:  # noqa: ANN401  # a signal's
    """Keep in which language somebody signed in, for what goes out to them."""
    asked_for = translation.get_language() or ""
    if user.asked_for != asked_for:
        user.asked_for = asked_for
        Person.objects.filter(pk=user.pk).update(asked_for=asked_for)
