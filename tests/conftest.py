"""The cast: two studios; in one a teacher and two students, in the other a teacher who must see nothing."""

from __future__ import annotations

import os

import pytest
from django.core.cache import caches
from django.db import connections
from django.test import Client

from studio.models import Member
from tests import factories as make

os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "1")  # Playwright's loop runs beside Django's ORM


@pytest.fixture(scope="session")
def django_db_modify_db_settings(tmp_path_factory):
    """Keep the test database in a file: the live server's threads each need a connection of their own."""
    connections["default"].settings_dict["TEST"]["NAME"] = str(
        tmp_path_factory.getbasetemp() / "test.sqlite3"
    )


@pytest.fixture(autouse=True)
def files_in_a_folder_of_their_own(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "files"
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]  # quick, for tests alone
    settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.immediate.ImmediateBackend"}}
    settings.WHITENOISE_AUTOREFRESH = True  # looked for when asked for, not all of them for every client
    settings.CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}
    caches["default"].clear()  # sign-ins counted in one test must not slow the next


@pytest.fixture
def teacher(db) -> Member:
    return make.teacher()


@pytest.fixture
def student(teacher) -> Member:
    return make.student(studio=teacher.studio)


@pytest.fixture
def other_student(teacher) -> Member:
    return make.student(studio=teacher.studio)


@pytest.fixture
def stranger(db) -> Member:
    """A teacher of another studio."""
    return make.teacher()


@pytest.fixture
def as_member():
    """Return a client signed in as the member given."""

    def signed_in(member: Member) -> Client:
        client = Client()
        client.force_login(member.person)
        return client

    return signed_in
