"""Where a person is signed in: each session row says by what device and when it was last used.

Rows cannot be searched for a person, so all that have not ended are read: a few for each person of the site.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from allauth.mfa.signals import authenticator_added
from django.contrib.auth import HASH_SESSION_KEY, SESSION_KEY
from django.contrib.auth.signals import user_logged_in, user_logged_out
from django.contrib.sessions.models import Session
from django.dispatch import receiver
from django.http import HttpRequest
from django.utils import timezone
from django.utils.crypto import constant_time_compare
from django.utils.translation import gettext as _

from studio.models import Person
from studio.push.phones import Phone

USED, PHONE = "used", "phone"
# a page is not to write each time it is looked at
NOTED_AGAIN_S = 15 * 60
LONGEST_AGENT = 300
# each use has a session live for a term more, but not for ever
LONGEST_S = 365 * 24 * 3600


@dataclass(frozen=True)
class Place:
    """One device on which somebody is signed in."""

    key: str
    device: str
    since: datetime | None
    used: datetime | None
    is_here: bool


def note_use(request: HttpRequest) -> None:
    """Have the session say by what device it is used and when; once in a quarter of an hour."""
    now, known = time.time(), request.session.get(USED, {})
    if now - known.get("at", 0) < NOTED_AGAIN_S:
        return
    if now - known.get("since", now) > LONGEST_S:
        request.session.flush()  # this page still comes; the next asks to sign in
        return
    agent = request.META.get("HTTP_USER_AGENT", "")[:LONGEST_AGENT]
    request.session[USED] = {"by": agent, "since": known.get("since", now), "at": now}


@receiver(user_logged_in)
def begin(request: HttpRequest, **_told: Any) -> None:  # noqa: ANN401  # a signal's
    """Note a sign-in; what an earlier one left in the session says nothing of this one."""
    request.session.pop(USED, None)
    request.session.set_expiry(None)  # a term, whatever a challenge before it was given
    note_use(request)


def signed_in_places(person: Person, here: str) -> list[Place]:
    """Return where this person is signed in, the last used first; `here` is the key of the asking session."""
    places = [_place(key, held, here) for key, held in _sessions_of(person)]
    return sorted(places, key=lambda one: (one.is_here, one.used or datetime.min.replace(tzinfo=UTC)))[::-1]


def end_others(request: HttpRequest) -> None:
    """End all sessions of whoever asks but the one that asks."""
    person, here = request.user, request.session.session_key
    assert isinstance(person, Person)  # noqa: S101  # only who is signed in gets here
    others = [key for key, _held in _sessions_of(person) if key != here]
    Session.objects.filter(session_key__in=others).delete()
    phones_signed_in(person)


def end_all(person: Person | None = None) -> int:
    """End all sessions of a person, or of everybody; return how many."""
    phones = Phone.objects.all()
    if person is None:
        phones.delete()
        return Session.objects.all().delete()[0]
    phones.filter(person=person).delete()
    return Session.objects.filter(session_key__in=[key for key, _held in _sessions_of(person)]).delete()[0]


def phones_signed_in(person: Person) -> list[Phone]:
    """Return the devices to tell this person on; one where nobody is signed in any more is forgotten.

    Each session holds the device that was added in it, so that whatever ends it ends that too.
    """
    held: set[int] = {session[PHONE] for _key, session in _sessions_of(person) if PHONE in session}
    Phone.objects.filter(person=person).exclude(pk__in=held).delete()
    return list(Phone.objects.filter(person=person))


@receiver(user_logged_out)
def forget_phone(request: HttpRequest, **_told: Any) -> None:  # noqa: ANN401  # a signal's
    """Signed out on a device, it is told of nothing more."""
    Phone.objects.filter(pk=request.session.get(PHONE, 0)).delete()


@receiver(authenticator_added)
def end_those_without_a_second_step(request: HttpRequest, **_told: Any) -> None:  # noqa: ANN401  # a signal's
    """Whoever is signed in elsewhere by the password alone signs in anew, with the second step."""
    end_others(request)


def device_of(agent: str) -> str:
    """Return in plain words what kind of device a browser says it runs on."""
    said = agent.lower()
    if "ipad" in said or "tablet" in said or ("android" in said and "mobile" not in said):
        return _("a tablet")
    if "mobi" in said or "phone" in said:
        return _("a phone")
    return _("a computer") if "mozilla" in said else _("an unknown device")


def _sessions_of(person: Person) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield key and content of the person's sessions; a changed password has ended those of another hash."""
    proof = person.get_session_auth_hash()
    for row in Session.objects.filter(expire_date__gt=timezone.now()).iterator():
        held = row.get_decoded()
        if held.get(SESSION_KEY) == str(person.pk) and constant_time_compare(held[HASH_SESSION_KEY], proof):
            yield row.session_key, held


def _place(key: str, held: dict[str, Any], here: str) -> Place:
    used = held.get(USED, {})
    since, at = (_moment(used.get(name)) for name in ("since", "at"))
    return Place(key, device_of(used.get("by", "")), since, at, key == here)


def _moment(seconds: float | None) -> datetime | None:
    return None if seconds is None else datetime.fromtimestamp(seconds, UTC)
