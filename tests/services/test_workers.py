"""Two workers on one PostgreSQL: each task once, and what a killed one ran is done by the other."""

import os
import signal
import socket
import subprocess
import sys
from collections import Counter

import pytest
from django_tasks_db.models import DBTaskResult

from studio.models import Invitation, Mailing
from studio.worker import DIED
from tests.services.test_postgresql import address_of, own_database
from tests.studio.serving import ROOT, environment, wait_until
from tests.studio.test_queues import letter_of
from tests.torture.mail import Mail

pytestmark = [pytest.mark.postgresql("asks a server"), pytest.mark.django_db(transaction=True)]


@pytest.fixture
def worker(tmp_path):
    """Return a function that starts a worker which sends by the mail server on this port."""
    started = []

    def start(mail_port):
        data = tmp_path / str(len(started))
        data.mkdir()
        given = {"DATABASE_URL": address_of(own_database()), "EMAIL_URL": f"smtp://127.0.0.1:{mail_port}"}
        command = [sys.executable, "manage.py", "work", "--queue", "mail"]
        started.append(subprocess.Popen(command, cwd=ROOT, env=environment(data, **given)))  # noqa: S603
        return started[-1]

    yield start
    for process in started:
        process.kill()
        process.wait()


def sent():
    return Invitation.objects.filter(mailing=Mailing.SENT).count()


def test_what_a_killed_worker_had_in_hand_and_all_else_is_sent_once_by_two_others(
    teacher, worker_later, worker
):
    with socket.create_server(("127.0.0.1", 0)) as silent:  # takes a call and says nothing
        first = worker(silent.getsockname()[1])
        letter_of(teacher)
        wait_until(lambda: DBTaskResult.objects.running().count() == 1, first)
        os.kill(first.pid, signal.SIGKILL)
        first.wait()
    mail = Mail()
    others = [worker(mail.port) for _each in range(2)]
    for _each in range(20):
        letter_of(teacher)
    wait_until(lambda: sent() == 21, others[0])
    mail.stop()
    assert len(mail.letters) == 21
    runs = Counter(len(task.worker_ids) for task in DBTaskResult.objects.all())
    assert runs == {1: 20, 2: 1}
    (dead,) = [task.worker_ids[0] for task in DBTaskResult.objects.all() if len(task.worker_ids) == 2]
    assert dead.startswith(DIED)
    assert f"/{first.pid}/" in dead
