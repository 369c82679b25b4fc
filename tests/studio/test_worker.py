"""Tasks of a worker that died go back into the queue, and only those."""

import datetime as dt
import os
import subprocess
import sys

import pytest
from django.contrib.sessions.models import Session
from django.core.management import call_command
from django.db import connection
from django.db.models.functions import Now
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from studio import lease
from studio.lease import WorkerLease
from studio.management.commands.work import holding_a_lease, look_after_tasks
from studio.worker import (
    DEATHS,
    DIED,
    LONGEST,
    is_gone,
    look_after_failed,
    new_worker_id,
    process_of,
    put_back_stale,
)

pytestmark = pytest.mark.django_db
NOW = dt.datetime(2026, 3, 1, 12, tzinfo=dt.UTC)


def heard_of(worker_id, ago=dt.timedelta(0)):
    """Have the process of this id say that it lives, so long ago."""
    lease.renew(process_of(worker_id))
    WorkerLease.objects.filter(worker=process_of(worker_id)).update(seen_at=Now() - ago)
    return worker_id


@pytest.fixture
def dead_worker(db):
    """The id of a process that has just ended, and said a moment ago that it lives."""
    ran = subprocess.run(
        [sys.executable, "-c", "import os; print(os.getpid())"], capture_output=True, check=True
    )
    machine, _pid, rest = new_worker_id().split("/")
    return heard_of(f"{machine}/{int(ran.stdout)}/{rest}")


def running(*worker_ids, started_at=NOW):
    return DBTaskResult.objects.create(
        status="RUNNING",
        started_at=started_at,
        worker_ids=list(worker_ids),
        args_kwargs={"args": [1], "kwargs": {}},
        task_path="reeds.photo.tasks.prepare.prepare_photo",
        backend_name="default",
        run_after=NOW,
    )


def status(task):
    return DBTaskResult.objects.get(pk=task.pk).status


def test_a_worker_id_fits_and_names_this_very_process():
    worker_id = new_worker_id()
    assert len(worker_id) <= 64
    assert worker_id.split("/")[1] == str(os.getpid())
    assert not is_gone(worker_id, {process_of(worker_id)})


def test_a_process_of_another_machine_is_gone_once_nothing_is_heard_of_it(dead_worker):
    elsewhere = heard_of("elsewhere/" + dead_worker.split("/", 1)[1])
    task = running(elsewhere)
    assert is_gone(dead_worker, lease.alive())
    assert put_back_stale(NOW) == 0
    heard_of(elsewhere, lease.LEASE + dt.timedelta(seconds=1))
    assert put_back_stale(NOW) == 1
    assert status(task) == "READY"
    assert ids_of(task) == [DIED + elsewhere]


def test_one_that_is_heard_of_again_keeps_what_it_runs():
    task = running(heard_of("elsewhere/1/abc", lease.LEASE * 2))
    lease.renew("elsewhere/1")
    assert put_back_stale(NOW) == 0
    assert status(task) == "RUNNING"


def test_one_that_ends_in_order_is_not_waited_for(worker_later):
    with holding_a_lease():
        task = running(new_worker_id())
        assert put_back_stale(NOW) == 0
    assert put_back_stale(NOW) == 1
    assert status(task) == "READY"


def test_those_that_ended_a_day_ago_are_forgotten(worker_later):
    for days in (0, 2):
        heard_of(f"elsewhere/{days}/abc", dt.timedelta(days=days))
    look_after_tasks(prune=True)
    assert [row.worker for row in WorkerLease.objects.all()] == ["elsewhere/0"]


def sampled():
    """Tables of which SQLite knows how many rows there are."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1 FROM sqlite_master WHERE name = 'sqlite_stat1'")
        if cursor.fetchone() is None:
            return set()
        cursor.execute("SELECT tbl FROM sqlite_stat1")
        return {table for (table,) in cursor.fetchall()}


@pytest.mark.sqlite("PostgreSQL counts by itself")
def test_once_a_day_a_worker_has_rows_counted(student, worker_later):
    look_after_tasks(prune=True)
    assert "studio_member" not in sampled()
    look_after_tasks(sweep=True)
    assert "studio_member" in sampled()


def test_what_a_dead_worker_left_goes_back_at_once(dead_worker):
    left = running(dead_worker)
    assert put_back_stale(NOW) == 1
    assert status(left) == "READY"
    assert left in DBTaskResult.objects.ready()


def test_what_a_living_worker_runs_stays_its_own():
    task = running(heard_of(new_worker_id()))
    assert put_back_stale(NOW + LONGEST) == 0
    assert status(task) == "RUNNING"


def test_what_runs_longer_than_anything_can_goes_back_whoever_has_it():
    task = running(heard_of("elsewhere/1/abc"))
    assert put_back_stale(NOW + LONGEST) == 0
    assert put_back_stale(NOW + LONGEST + dt.timedelta(seconds=1)) == 1
    assert status(task) == "READY"


def ids_of(task):
    return DBTaskResult.objects.get(pk=task.pk).worker_ids


def test_what_took_too_long_three_times_is_given_up():
    task = running("a/1/x", "b/2/y", heard_of("c/3/z"), started_at=NOW - 2 * LONGEST)
    assert put_back_stale(NOW) == 1
    assert status(task) == "FAILED"
    assert "3 workers" in DBTaskResult.objects.get(pk=task.pk).traceback
    assert look_after_failed(NOW) == 1


def test_that_its_worker_died_says_little_of_a_task(dead_worker):
    """Somebody who restarts the machine thrice must not have a photo refused that was in work each time."""
    task = running(*[DIED + "a/1/x"] * (DEATHS - 2), dead_worker)
    assert put_back_stale(NOW) == 1
    assert status(task) == "READY"
    assert ids_of(task)[-1] == DIED + dead_worker


@pytest.mark.parametrize(("deaths", "waits_s"), [(1, 0), (2, 4), (5, 32), (DEATHS - 1, 512)])
def test_the_more_workers_died_of_a_task_the_longer_it_waits(dead_worker, deaths, waits_s):
    """Ten workers that are killed in a row, as in the kill run, must not use up all its tries in a minute."""
    task = running(*[DIED + "a/1/x"] * (deaths - 1), dead_worker)
    put_back_stale(NOW)
    assert DBTaskResult.objects.get(pk=task.pk).run_after == NOW + dt.timedelta(seconds=waits_s)


def test_what_ended_ten_workers_is_given_up_and_not_tried_again(dead_worker):
    task = running(*[DIED + "a/1/x"] * (DEATHS - 1), dead_worker)
    assert put_back_stale(NOW) == 1
    assert status(task) == "FAILED"
    assert look_after_failed(NOW) == 1
    assert status(task) == "FAILED"


def test_a_task_that_another_took_up_meanwhile_is_left_alone(dead_worker, monkeypatch):
    task = running(dead_worker)

    def taken_up_meanwhile(_worker_id, _alive):
        DBTaskResult.objects.filter(pk=task.pk).update(started_at=NOW + dt.timedelta(seconds=5))
        return True

    monkeypatch.setattr("studio.worker.is_gone", taken_up_meanwhile)
    assert put_back_stale(NOW) == 0
    assert status(task) == "RUNNING"


def test_looking_after_also_drops_old_results_and_sessions(worker_later):
    task = running("a/1/x")
    old = timezone.now() - dt.timedelta(days=15)
    DBTaskResult.objects.filter(pk=task.pk).update(status="SUCCESSFUL", finished_at=old)
    for days in (-1, 1):
        end = timezone.now() + dt.timedelta(days=days)
        Session.objects.create(session_key=f"ends {days}", session_data="x", expire_date=end)
    look_after_tasks(prune=True)
    assert not DBTaskResult.objects.exists()
    assert [session.session_key for session in Session.objects.all()] == ["ends 1"]


@pytest.mark.django_db(transaction=True)
def test_the_worker_runs_what_a_dead_one_left(dead_worker, worker_later):
    task = running(dead_worker)
    call_command("work", batch=True)
    assert status(task) == "SUCCESSFUL"
    assert len(DBTaskResult.objects.get(pk=task.pk).worker_ids) == 2
