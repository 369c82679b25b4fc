"""What met a database that could only be read ends once it can be written; another is started."""

import errno
import os
import signal
import subprocess
import sys
import threading
import time

import pytest
from django.db import OperationalError, connection

from studio import only_read
from studio.queues import Hand
from studio.trouble import told
from tests.torture.site import obey_permissions

READONLY = OperationalError("attempt to write a readonly database")
# why a process must end: three connections, of which one is always open
SHARED = """
import os, sqlite3, sys
def opened():
    rows = sqlite3.connect(sys.argv[1], isolation_level=None)
    return rows, rows.execute("SELECT count(*) FROM things").fetchone()
def allow(folder, file):
    os.chmod(os.path.dirname(sys.argv[1]), folder)
    for end in ("", "-wal", "-shm"):
        os.chmod(sys.argv[1] + end, file)
allow(0o555, 0o444)
first, _count = opened()
allow(0o755, 0o644)
second, _count = opened()
first.close()
third, _count = opened()
try:
    third.execute("INSERT INTO things VALUES (2)")
except sqlite3.OperationalError as error:
    print(error)
second.close(), third.close()
opened()[0].execute("INSERT INTO things VALUES (3)")
print("written")
"""
PREPARED = """
import sqlite3, sys, os
rows = sqlite3.connect(sys.argv[1], isolation_level=None)
rows.execute("PRAGMA journal_mode=WAL")
rows.execute("CREATE TABLE things (one)")
os._exit(0)
"""


@pytest.fixture
def ended(monkeypatch):
    """What was sent to this process instead of its end."""
    sent = []
    monkeypatch.setattr(only_read, "_met", threading.Event())
    monkeypatch.setattr(only_read, "_begun_at", time.monotonic() - only_read.YOUNG_S)
    monkeypatch.setattr(only_read.os, "kill", lambda pid, number: sent.append((pid, number)))
    return sent


@pytest.fixture
def may_be_written(monkeypatch):
    def say(whether):
        monkeypatch.setattr(only_read, "can_be_written", lambda _path: whether)

    return say


def test_sqlite_shares_among_connections_that_one_was_opened_to_read(tmp_path):
    database = tmp_path / "data" / "rows.sqlite3"
    database.parent.mkdir()
    # the first leaves the files beside it, as a server that was killed does
    subprocess.run([sys.executable, "-c", PREPARED, str(database)], check=True)  # noqa: S603
    said = subprocess.run(  # noqa: S603
        [sys.executable, "-c", SHARED, str(database)],
        preexec_fn=obey_permissions,
        capture_output=True,
        text=True,
        check=True,
    )
    assert said.stdout.split("\n")[:2] == ["attempt to write a readonly database", "written"]


@pytest.mark.sqlite("it alone opens a file to read for all of a process")
@pytest.mark.django_db
def test_who_met_it_ends_once_when_it_can_be_written(ended, may_be_written):
    only_read.end_if_over()
    told(READONLY)
    may_be_written(False)
    only_read.end_if_over()
    assert ended == []
    may_be_written(True)
    only_read.end_if_over()
    only_read.end_if_over()
    assert ended == [(os.getpid(), signal.SIGTERM)]


@pytest.mark.django_db
def test_one_that_has_only_begun_does_not_end_at_once_again(ended, may_be_written, monkeypatch):
    monkeypatch.setattr(only_read, "_begun_at", time.monotonic() + 600)
    may_be_written(True)
    told(READONLY)
    assert not only_read.end_if_over()
    assert ended == []


@pytest.mark.sqlite("it alone opens a file to read for all of a process")
@pytest.mark.django_db
def test_a_web_process_is_held_up_by_nobody(ended, may_be_written, monkeypatch):
    monkeypatch.setattr(only_read, "LONGEST_S", 0)
    may_be_written(True)
    only_read.end_web_if_over()
    assert ended == []
    told(READONLY)
    before = set(threading.enumerate())
    only_read.end_web_if_over(sender=None, signal=None)
    for timer in set(threading.enumerate()) - before:
        timer.join()
    assert ended == [(os.getpid(), signal.SIGTERM), (os.getpid(), signal.SIGKILL)]


@pytest.mark.django_db
@pytest.mark.parametrize(
    "error", [OperationalError("database is locked"), OSError(errno.EROFS, "Read-only file system")]
)
def test_other_trouble_ends_nobody(ended, may_be_written, error):
    may_be_written(True)
    told(error)
    only_read.end_if_over()
    assert ended == []


@pytest.mark.sqlite("it alone opens a file to read for all of a process")
@pytest.mark.django_db
def test_a_worker_that_could_not_take_a_task_met_it_too(ended, may_be_written, monkeypatch):
    def taken(_hand):
        raise READONLY

    monkeypatch.setattr(Hand, "_taken", taken)
    may_be_written(True)
    Hand(["mail"], threading.Event(), 0).work_one()
    only_read.end_if_over()
    assert ended == [(os.getpid(), signal.SIGTERM)]


def test_all_that_is_written_must_be_allowed(tmp_path, monkeypatch):
    database = tmp_path / "rows.sqlite3"
    beside = tmp_path / "rows.sqlite3-shm"
    for file in (database, beside):
        file.touch()
    refused = set()
    monkeypatch.setattr(only_read.os, "access", lambda path, _how: path not in refused)
    assert only_read.can_be_written(database)
    for path in (tmp_path, database, beside):
        refused.add(path)
        assert not only_read.can_be_written(database)
        refused.clear()


@pytest.mark.django_db
def test_the_tests_own_database_can_be_written():
    assert only_read.can_be_written(only_read.Path(connection.settings_dict["NAME"]))
