"""The cast: two studios; in one a teacher and two students, in the other a teacher who must see nothing."""

from __future__ import annotations

import copy
import itertools
import os
import shutil
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path

import hypothesis
import pytest
from django.conf import settings as given_settings
from django.contrib.contenttypes.management import create_contenttypes
from django.core.cache import caches
from django.db import connections, transaction
from django.db.models.signals import post_migrate
from django.test import Client, override_settings

from studio.models import Member
from tests import factories as make
from tests.first_database import KEPT, FirstDatabase, FirstOnServer
from tests.signed_in import signed_in

os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "1")  # Playwright's loop runs beside Django's ORM
os.environ["LC_ALL"] = "C.UTF-8"  # what a command says is looked for in English
# a busy machine is no fault of the code; the same examples each time: what fails, fails for everybody
hypothesis.settings.register_profile("unhurried", deadline=None, derandomize=True)
# other examples each time, to look for what the tests do not know: pytest --hypothesis-profile=exploring
hypothesis.settings.register_profile("exploring", deadline=None, max_examples=1000)
hypothesis.settings.load_profile("unhurried")

VENDOR = connections["default"].vendor
IN_A_FILE = VENDOR == "sqlite"
OTHERS_END = """
    SELECT pg_terminate_backend(pid) FROM pg_stat_activity
    WHERE datname = current_database() AND pid <> pg_backend_pid()
"""
ASKS_IT = {"db", "transactional_db", "live_server"}  # pytest-django's own; others come by way of these


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items):
    """Mark what asks the database; skip what is bound to the other kind of one, and tell its reason."""
    for item in items:
        if item.get_closest_marker("django_db") or not ASKS_IT.isdisjoint(item.fixturenames):
            item.add_marker("database")
        for mark in (found for kind in ("sqlite", "postgresql") for found in item.iter_markers(kind)):
            if mark.name != VENDOR:
                item.add_marker(pytest.mark.skip(reason=f"of {mark.name} alone: {mark.args[0]}"))


def tasks_by(backend: str) -> dict[str, dict[str, object]]:
    """Return the setting that has tasks of all our queues done by this backend."""
    return {"default": {"BACKEND": backend, "QUEUES": list(given_settings.QUEUES)}}


@pytest.fixture
def worker_later(settings):
    """Tasks wait for a worker, as they do on the site."""
    settings.TASKS = tasks_by("django_tasks_db.DatabaseBackend")


@pytest.fixture
def worker_at_once(settings):
    """Tasks are done where they are asked for, in the same transaction."""
    settings.TASKS = tasks_by("django_tasks.backends.immediate.ImmediateBackend")


@pytest.fixture(scope="session")
def first_database(tmp_path_factory, worker_id):
    base = tmp_path_factory.getbasetemp()
    of_this_run = base if worker_id == "master" else base.parent
    if not IN_A_FILE:
        return FirstOnServer(of_this_run)
    return FirstDatabase(KEPT if os.access(sys.prefix, os.W_OK) else of_this_run)


@pytest.fixture(scope="session")
def django_db_keepdb(first_database):
    return IN_A_FILE and first_database.was_there


@pytest.fixture(scope="session")
def django_db_modify_db_settings(tmp_path_factory, first_database, request):
    """Keep the test database in a file: the live server's threads each need a connection of their own."""
    if not IN_A_FILE:
        request.getfixturevalue("django_db_modify_db_settings_parallel_suffix")
    own_name = str(tmp_path_factory.getbasetemp() / "test.sqlite3")
    first_database.give(connections["default"].settings_dict["TEST"], own_name)


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup, django_db_blocker, first_database):
    """After a test that commits, all rows go; permissions, which nobody here asks for, need not come back."""
    with django_db_blocker.unblock():
        first_database.settled(connections["default"].settings_dict["NAME"])
    post_migrate.disconnect(dispatch_uid="django.contrib.auth.management.create_permissions")
    post_migrate.disconnect(create_contenttypes)
    yield
    if not IN_A_FILE:  # a server drops no database that a thread of some test still has open
        with django_db_blocker.unblock(), connections["default"].cursor() as cursor:
            cursor.execute(OTHERS_END)


@pytest.fixture(scope="session", autouse=True)
def settings_of_the_tests(tmp_path_factory):
    with override_settings(
        MEDIA_ROOT=tmp_path_factory.mktemp("files"),
        PASSWORD_HASHERS=["django.contrib.auth.hashers.MD5PasswordHasher"],  # quick, for tests alone
        TASKS=tasks_by("tests.at_commit.AtCommit"),
        WHITENOISE_AUTOREFRESH=True,  # looked for when asked for, not all of them for every client
        CONFINE=False,  # in this process; tests/studio/confined starts the real ones
        CACHES={"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}},
    ):
        yield


@pytest.fixture(scope="session")
def folders(tmp_path_factory):
    """The names of folders that are not there yet, without end.

    `tmp_path` looks through those of all tests before it, which takes milliseconds where there are thousands.
    """
    whole = tmp_path_factory.mktemp("folders")
    return (whole / str(number) for number in itertools.count())


@pytest.fixture(autouse=True)
def files_in_a_folder_of_their_own(settings, folders):
    settings.MEDIA_ROOT = next(folders)
    caches["default"].clear()  # sign-ins counted in one test must not slow the next


@dataclass(frozen=True)
class Made:
    """What was made once for a module's tests, and the folder of its files."""

    what: object
    files: Path


@contextmanager
def undone_afterwards() -> Iterator[None]:
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


@pytest.fixture(scope="module")
def once(django_db_setup, django_db_blocker, tmp_path_factory):
    """Return a function that makes rows and files which all tests of the module begin with, see `anew`.

    The rows stay in a transaction around the module's tests, each of which is undone to there.
    """
    around = ExitStack()

    def made(build: Callable[[], object]) -> Made:
        files = tmp_path_factory.mktemp("once")
        with django_db_blocker.unblock(), override_settings(MEDIA_ROOT=files):
            around.enter_context(undone_afterwards())
            return Made(build(), files)

    yield made
    with django_db_blocker.unblock():
        around.close()


@pytest.fixture
def anew(db, settings):
    """Return a function that gives a test what was made once: the rows as they were, a copy of the files."""

    def given(made: Made) -> object:
        shutil.copytree(made.files, settings.MEDIA_ROOT, dirs_exist_ok=True)
        return copy.deepcopy(made.what)

    return given


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

    def as_them(member: Member) -> Client:
        return signed_in(member.person)

    return as_them


# whatever opens a picture or a recording, by where it is looked up
DECODERS = (
    "PIL.Image.open",
    "PIL.ImageFile.ImageFile.load",
    "PIL.ImageFile.Parser.feed",
    "pillow_heif.open_heif",
    "pillow_heif.read_heif",
    "cv2.imdecode",
    "cv2.imread",
    "av.open",
    "parselmouth.read",
)


@pytest.fixture
def watch_decoders(monkeypatch):
    """Return a function from which on nothing can be decoded, and which returns the list of what tries to."""
    tried = []

    def refused(name):
        def refuse(*_given, **_more):
            tried.append(name)
            raise AssertionError(f"{name} is called where nothing may be decoded")

        return refuse

    def watched():
        for name in DECODERS:
            monkeypatch.setattr(name, refused(name))
        return tried

    return watched
