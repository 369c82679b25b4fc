"""A database that is locked, full, read-only or damaged: a sentence, and nothing half kept."""

import errno
import sqlite3
import threading

import pytest
from django.db import DatabaseError, DataError, IntegrityError, OperationalError, ProgrammingError, connection

from reeds.reed.models.cane import CaneLot
from studio.trouble import BROKEN, sentence_for

LOT = {"label": "a bag", "lost": "0"}


@pytest.mark.sqlite("its lock is of the whole file")
@pytest.mark.django_db(transaction=True)
def test_while_another_writes_for_long_a_sentence_is_told_and_later_it_works(student, as_member):
    """For real: somebody else holds the database, and the page's patience is short."""
    client = as_member(student)
    held, done = threading.Event(), threading.Event()

    def hold():
        with sqlite3.connect(connection.settings_dict["NAME"], isolation_level=None) as other:
            other.execute("BEGIN IMMEDIATE")
            held.set()
            done.wait(60)
            other.execute("ROLLBACK")
        other.close()

    with connection.cursor() as cursor:
        cursor.execute("PRAGMA busy_timeout = 200")
    somebody = threading.Thread(target=hold)
    somebody.start()
    try:
        assert held.wait(60)
        answer = client.post(student.to("reeds:cane_add"), LOT)
    finally:
        done.set()
        somebody.join()
    assert answer.status_code == 503
    assert "The server is busy at the moment." in answer.content.decode()
    assert answer.headers["Retry-After"] == "30"
    assert not CaneLot.objects.exists()

    assert client.post(student.to("reeds:cane_add"), LOT).status_code == 302
    assert CaneLot.objects.get().label == "a bag"
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA busy_timeout = 20000")


@pytest.mark.parametrize(
    ("error", "begins"),
    [
        (OperationalError("database is locked"), "The server is busy"),
        (OperationalError("attempt to write a readonly database"), "The server can only be read"),
        (OperationalError("database or disk is full"), "The server's disk is full"),
        (DatabaseError("database disk image is malformed"), "The server cannot reach its data"),
        (OperationalError("connection refused"), "The server cannot reach its data"),
        (OSError(errno.ENOSPC, "No space left on device"), "The server's disk is full"),
        (OSError(errno.EFBIG, "File too large"), "The server's disk is full"),
        (OSError(errno.EROFS, "Read-only file system"), "The server can only be read"),
        (PermissionError(errno.EACCES, "Permission denied"), "The server can only be read"),
    ],
)
def test_each_trouble_has_its_sentence(error, begins):
    assert sentence_for(error).startswith(begins)


@pytest.fixture
def failing(monkeypatch, student, as_member):
    """Return a function that has a page fail with an error, and gives its answer."""

    client = as_member(student)
    client.raise_request_exception = False

    class Failing:
        error = ValueError()

        def visible_to(self, _member):
            raise self.error

    def get(error, **asked):
        Failing.error = error
        return client.get(student.to("reeds:cane"), asked)

    monkeypatch.setattr("reeds.reed.views.cane.CaneLot.objects", Failing())
    return get


def test_damage_is_told_without_asking_the_database_again(failing, django_assert_max_num_queries):
    with django_assert_max_num_queries(3):  # session, person and member, before the page
        answer = failing(DatabaseError("database disk image is malformed"))
    assert answer.status_code == 503
    assert BROKEN in answer.content.decode()


@pytest.mark.parametrize(("sent", "status"), [("\0", 400), ("plain", 500)])
def test_what_no_keyboard_types_is_the_senders_fault_and_nothing_else_is(failing, sent, status):
    assert failing(DataError("PostgreSQL text fields cannot contain NUL"), words=sent).status_code == status


@pytest.mark.parametrize("kind", [IntegrityError, ProgrammingError, ValueError])
def test_an_error_of_ours_is_not_called_the_databases(failing, kind):
    assert failing(kind("no such column")).status_code == 500


def test_a_disk_that_is_full_is_told(failing):
    answer = failing(OSError(errno.ENOSPC, "No space left on device"))
    assert answer.status_code == 503
    assert "disk is full" in answer.content.decode()


def test_a_file_that_is_gone_is_an_error_of_ours(failing):
    assert failing(FileNotFoundError(errno.ENOENT, "No such file")).status_code == 500
