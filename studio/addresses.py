"""E-mail addresses: one counts once the person, signed in, opened the link that was sent there.

Until then nobody signs in by it, no new password and no answer goes there: whoever types the address of
somebody else gets nothing of theirs and takes nothing from them.
"""

from __future__ import annotations

from allauth.core.internal import ratelimit
from django.conf import settings
from django.core import signing
from django.core.mail import EmailMessage
from django.http import HttpRequest
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from studio.models import Person
from studio.notices import tell
from studio.reading import written_for
from studio.tasks import post

SALT = "studio.address"
GOOD_FOR_S = 3 * 24 * 3600
TOO_OFTEN = gettext_lazy("A link was sent a moment ago. Look among the unwanted mail, or wait a few minutes.")


def token_for(person: Person) -> str:
    """Return what stands in the link that is sent to the address that is to count."""
    return signing.dumps([person.pk, person.email_wanted], salt=SALT)


def is_asked_of(person: Person, token: str) -> bool:
    """Whether this link was sent to the very address that this person waits for."""
    try:
        told = signing.loads(token, salt=SALT, max_age=GOOD_FOR_S)
    except signing.BadSignature:
        return False
    return bool(person.email_wanted) and told == [person.pk, person.email_wanted]


def may_be_asked(request: HttpRequest, email: str) -> bool:
    """Count a letter to this address: nobody is to have us write to strangers again and again."""
    return bool(ratelimit.consume(request, app="allauth.account", action="new_address", key=email))


def ask(person: Person) -> None:
    """Have the worker send the link to the address that waits."""
    link = settings.SITE_ADDRESS.rstrip("/") + reverse("address", args=[token_for(person)])
    with written_for(person):
        text = render_to_string("studio/email/address.txt", {"person": person, "link": link})
        post(EmailMessage(_("Is this your address?"), text, None, [person.email_wanted]))


def give(person: Person, email: str) -> None:
    """Have mail go to another address once its link was opened; to none, or to the present one, at once."""
    if email in ("", person.email):
        _settle(person, email)
        return
    person.email_wanted = email
    person.save(update_fields=["email_wanted"])
    ask(person)


def confirm(person: Person) -> None:
    """Have the address count that waited for it."""
    _settle(person, person.email_wanted)


def _settle(person: Person, email: str) -> None:
    former = person.email
    person.email, person.email_wanted = email, ""
    person.save(update_fields=["email", "email_wanted"])
    if former and former != email:
        to = email or _("no address")
        tell(person, _("E-mail no longer goes to this address, but to: %(to)s.") % {"to": to}, former)
