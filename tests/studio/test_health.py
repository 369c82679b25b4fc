"""What a watching program is told: alive, ready, or what is not as it should be; nothing of anybody."""

import datetime as dt
import os
import shutil
import sqlite3
import time
from collections import namedtuple
from contextlib import closing

import pytest
import time_machine
from django.core.management import call_command
from django.db import OperationalError, connection
from django.db.models.functions import Now
from django.test import Client
from django.utils import timezone
from django_tasks.signals import task_finished, task_started
from django_tasks_db.models import DBTaskResult, get_date_max

from studio import health, lease
from studio.management.commands.work import begin_to_look
from tests import factories as make

Usage = namedtuple("Usage", "total used free")
ALL_WELL = {
    "ok": True,
    "database": "ok",
    "disk": "ok",
    "worker": "ok",
    "tasks": "ok",
    "oldest_waiting_s": None,
}


@pytest.fixture(autouse=True)
def all_is_there(settings, tmp_path, monkeypatch):
    """A disk with room, and a worker that was just seen."""
    settings.DATA_DIR = tmp_path
    free(monkeypatch, health.FREE_BYTES)
    health.be_seen()


def free(monkeypatch, count):
    monkeypatch.setattr(shutil, "disk_usage", lambda _folder: Usage(2 * count, count, count))


def waiting(minutes, **given):
    row = {"run_after": get_date_max(), "status": "READY"} | given
    task = DBTaskResult.objects.create(
        args_kwargs={"args": ["a private word"], "kwargs": {}},
        task_path="reeds.photo.tasks.prepare.prepare_photo",
        backend_name="default",
        **row,
    )
    at = timezone.now() - dt.timedelta(minutes=minutes)
    DBTaskResult.objects.filter(pk=task.pk).update(enqueued_at=at)


def asked():
    answer = Client().get("/readyz")
    assert answer.headers["Cache-Control"].count("no-store") == 1
    assert answer.headers["Content-Type"] == "application/json"
    return answer.status_code, answer.json()


def not_ready(**reasons):
    return 503, {**ALL_WELL, "ok": False, **reasons}


# --- alive ---
def test_a_living_process_answers_without_asking_anything(django_assert_num_queries, student, as_member):
    client = as_member(student)  # whose session is not looked at either
    with django_assert_num_queries(0):
        answer = client.get("/healthz")
    assert (answer.status_code, answer.json()) == (200, {"ok": True})
    assert "no-store" in answer.headers["Cache-Control"]


def test_a_living_process_answers_without_a_database():
    """Without the mark for it, a test that asks the database fails."""
    assert Client().get("/healthz").status_code == 200


@pytest.mark.parametrize("path", ["/healthz", "/readyz"])
@pytest.mark.django_db
def test_both_are_only_looked_at_and_are_not_led_to_https(path, settings):
    settings.SECURE_SSL_REDIRECT = True
    assert Client().get(path).status_code == 200
    assert Client().head(path).status_code == 200
    assert Client().post(path).status_code == 405
    assert Client().get("/account/login/").status_code == 301


# --- ready ---
@pytest.mark.django_db
def test_all_is_well():
    assert asked() == (200, ALL_WELL)


@pytest.mark.django_db
def test_a_worker_that_was_not_seen_for_two_minutes(tmp_path):
    os.utime(tmp_path / "worker_seen", (time.time() - health.UNSEEN_S - 1,) * 2)
    assert asked() == not_ready(worker="none was seen lately")
    health.be_seen()
    assert asked() == (200, ALL_WELL)


@pytest.mark.django_db
def test_a_worker_on_another_machine_is_one(tmp_path):
    (tmp_path / "worker_seen").unlink()
    lease.renew("elsewhere/1")
    assert asked() == (200, ALL_WELL)
    lease.WorkerLease.objects.update(seen_at=Now() - dt.timedelta(seconds=health.UNSEEN_S + 1))
    assert asked() == not_ready(worker="none was ever seen")


@pytest.mark.django_db
def test_a_worker_that_never_was(tmp_path):
    (tmp_path / "worker_seen").unlink()
    assert asked() == not_ready(worker="none was ever seen")


@pytest.mark.django_db
def test_a_disk_that_is_nearly_full_or_gone(monkeypatch):
    free(monkeypatch, health.FREE_BYTES - 1)
    assert asked() == not_ready(disk="is nearly full")

    def gone(_folder):
        raise OSError("a private path")

    monkeypatch.setattr(shutil, "disk_usage", gone)
    assert asked() == not_ready(disk="cannot be read")


def test_a_worker_that_cannot_write_goes_on(settings, tmp_path):
    settings.DATA_DIR = tmp_path / "gone"
    health.be_seen()


UNKNOWN = {"database": "does not answer, or is locked", "tasks": "cannot be known"}


@pytest.mark.sqlite("its lock is of the whole file")
@pytest.mark.django_db(transaction=True)
def test_a_database_that_another_keeps_locked_is_told_soon_and_comes_back(monkeypatch):
    monkeypatch.setattr(health, "LOCKED_S", 0.2)
    with connection.cursor() as cursor:
        usual = cursor.execute("PRAGMA busy_timeout").fetchone()
    with closing(sqlite3.connect(connection.settings_dict["NAME"], isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        began = time.monotonic()
        assert asked() == not_ready(**UNKNOWN)
        assert time.monotonic() - began < 5  # a page waits 20 s
        other.execute("ROLLBACK")
    assert asked() == (200, ALL_WELL)
    with connection.cursor() as cursor:
        assert cursor.execute("PRAGMA busy_timeout").fetchone() == usual


@pytest.mark.django_db
def test_a_database_that_is_gone_even_for_somebody_who_is_signed_in(monkeypatch, student, as_member):
    def gone(*_given):
        raise OperationalError("unable to open a private path")

    client = as_member(student)
    monkeypatch.setattr(connection, "cursor", gone)
    answer = client.get("/readyz")
    assert (answer.status_code, answer.json()) == not_ready(**UNKNOWN)


# --- tasks ---
NOW = dt.datetime(2026, 3, 1, 12, tzinfo=dt.UTC)


@pytest.fixture
def seen_now(tmp_path):
    """A worker that was seen at the moment that the clock is set to."""
    os.utime(tmp_path / "worker_seen", (NOW.timestamp(),) * 2)


@pytest.mark.django_db
@time_machine.travel(NOW, tick=False)  # a machine that stands still while this runs changes nothing
def test_the_oldest_task_that_waits_is_told_and_too_long_is_not_well(seen_now):
    waiting(3)
    waiting(14)
    assert asked() == (200, {**ALL_WELL, "oldest_waiting_s": 14 * 60})
    waiting(16)
    assert asked() == not_ready(tasks="one waits too long", oldest_waiting_s=16 * 60)


@pytest.mark.django_db
@time_machine.travel(NOW, tick=False)
def test_what_is_done_runs_or_is_to_begin_later_does_not_wait(seen_now):
    now = timezone.now()
    waiting(60, status="SUCCESSFUL")
    waiting(60, status="RUNNING")
    waiting(60, run_after=now + dt.timedelta(minutes=10))
    assert asked() == (200, ALL_WELL)
    waiting(60, run_after=now - dt.timedelta(minutes=2))  # tried again after a pause
    assert asked()[1]["oldest_waiting_s"] == 120


@pytest.mark.django_db
def test_no_word_of_anybody_is_told(tmp_path):
    studio = make.StudioFactory(name="A private word")
    make.student(studio=studio)
    waiting(60)
    said = Client().get("/readyz").content.decode()
    for private in ("private", "photo", str(tmp_path), "Traceback"):
        assert private not in said


# --- the worker ---
@pytest.mark.django_db(transaction=True)
def test_a_worker_shows_itself_when_a_task_begins_and_ends(worker_later, tmp_path, monkeypatch):
    for keeper in ("_keep_looking", "keep_looking_after_backups"):
        monkeypatch.setattr(f"studio.management.commands.work.{keeper}", lambda: None)
    (tmp_path / "worker_seen").unlink()
    waiting(0)
    DBTaskResult.objects.update(args_kwargs={"args": [1], "kwargs": {}})
    try:
        begin_to_look()
        call_command("work", batch=True)
    finally:
        task_started.disconnect(health.be_seen)
        task_finished.disconnect(health.be_seen)
    assert asked() == (200, ALL_WELL)
