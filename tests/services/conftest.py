"""A bucket of a real service: started once a session, a folder of it for each test."""

from __future__ import annotations

import copy
import uuid
from urllib.error import HTTPError
from urllib.request import Request, urlopen

import pytest
from django.core.files.storage import default_storage
from django.db import transaction

from studio.environment import also_from
from tests import factories as make
from tests.services.seaweed import seaweed

NOBODY_THERE = "http://127.0.0.1:9"  # the port of discard, which nobody uses


@pytest.fixture(scope="session")
def service():
    with seaweed() as there:
        yield there


@pytest.fixture
def bucket(service, settings):
    """Have files kept in a folder of the bucket; return the storage."""
    for name, value in service.surroundings.items():
        setattr(settings, name, value)
    settings.S3_BROWSER_ENDPOINT = settings.S3_ENDPOINT
    settings.S3_PREFIX = uuid.uuid4().hex
    policy = copy.deepcopy(settings.CONTENT_SECURITY_POLICY)
    also_from(policy["DIRECTIVES"], settings.S3_ENDPOINT)
    settings.CONTENT_SECURITY_POLICY = policy
    kept_in_bucket(settings)
    return default_storage


def kept_in_bucket(settings):
    """Have Django make its storage anew, from the settings as they are now."""
    backend = {"BACKEND": "studio.backup.in_bucket.HoldingBucket"}
    settings.STORAGES = settings.STORAGES | {"default": backend}


@pytest.fixture
def away(settings, service):
    """Return a function that has the bucket be away, or there again."""

    def be_away(is_away=True):
        settings.S3_ENDPOINT = NOBODY_THERE if is_away else service.surroundings["S3_ENDPOINT"]
        kept_in_bucket(settings)

    return be_away


@pytest.fixture
def at_once(monkeypatch):
    """A test's transaction is never committed, so what waits for that is done at once."""
    monkeypatch.setattr(transaction, "on_commit", lambda act, **_more: act())


def names_in(storage, folder=""):
    """Every file that is kept, by its name."""
    folders, files = storage.listdir(folder)
    below = [name for one in folders for name in names_in(storage, f"{folder}/{one}".strip("/"))]
    return sorted([*below, *(f"{folder}/{name}".strip("/") for name in files)])


def fetched(address, **headers):
    """What a browser gets there, without any cookie of ours: status, bytes and headers."""
    try:
        with urlopen(Request(address, headers=headers)) as answer:  # noqa: S310
            return answer.status, answer.read(), dict(answer.headers)
    except HTTPError as error:
        with error:
            return error.code, error.read(), dict(error.headers)


@pytest.fixture
def reed(student):
    return make.ReedFactory(owner=student)


@pytest.fixture
def phone(as_member, student):
    return as_member(student)
