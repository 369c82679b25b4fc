"""Clients that are signed in, as by the page of signing in, without it."""

from __future__ import annotations

from importlib import import_module

from django.conf import settings
from django.contrib.auth import login
from django.http import HttpRequest
from django.test import Client

from studio.models import Person


def session_of(person: Person) -> str:
    """Sign somebody in; return the key of the session.

    `Client.force_login` makes and throws away a session before: twice as many statements, for every test.
    """
    request = HttpRequest()
    request.session = import_module(settings.SESSION_ENGINE).SessionStore()
    login(request, person, settings.AUTHENTICATION_BACKENDS[0])
    request.session.save()
    return str(request.session.session_key)


def within(session: str) -> Client:
    """Return a client that holds this session."""
    client = Client()
    client.cookies[settings.SESSION_COOKIE_NAME] = session
    return client


def signed_in(person: Person) -> Client:
    """Return a client signed in as this person."""
    return within(session_of(person))
