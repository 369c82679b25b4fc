"""Devices on which somebody signed in before: strangers who guess at a password do not lock these out.

Failed sign-ins are counted for each account, so that nobody guesses for long; but then anybody who knows a
user name could keep its owner out. A signed cookie of an earlier sign-in says that this is not anybody: its
failures are counted apart.
"""

from __future__ import annotations

from django.conf import settings
from django.core import signing
from django.http import HttpRequest, HttpResponse

from studio.models import Person

SALT = "studio.device"
KEPT_S = 400 * 24 * 3600  # as long as browsers keep any


def remember(response: HttpResponse, person: Person) -> None:
    """Have the browser keep that this person signed in on it."""
    response.set_cookie(
        settings.DEVICE_COOKIE_NAME,
        signing.dumps(person.pk, salt=SALT),
        max_age=KEPT_S,
        secure=settings.HTTPS,
        httponly=True,
        samesite="Lax",
    )


def knows(request: HttpRequest, login: str) -> Person | None:
    """Return whom this user name or e-mail stands for, if that person signed in on this device before."""
    try:
        pk = signing.loads(request.COOKIES.get(settings.DEVICE_COOKIE_NAME, ""), salt=SALT, max_age=KEPT_S)
    except signing.BadSignature:
        return None
    person = Person.objects.filter(pk=pk).first()
    known = person is not None and login.lower() in (person.username.lower(), person.email.lower())
    return person if known else None
