"""A task that is given is told of at once, and only once it is committed."""

import os
import threading

import pytest
from django.core import mail
from django.db import transaction

from studio import bell, queues
from studio.management.commands.work import _work
from tests.studio.test_queues import letter_of, wait_until

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def data(settings, tmp_path):
    settings.DATA_DIR = tmp_path


@pytest.fixture
def beside():
    """Have something done in a thread until the test is over."""
    ended, threads = threading.Event(), []

    def begin(what, *args):
        threads.append(threading.Thread(target=what, args=(*args, ended)))
        threads[-1].start()
        return ended

    yield begin
    ended.set()
    for thread in threads:
        thread.join()


@pytest.fixture
def heard(beside, monkeypatch):
    """What is heard, by somebody who listens already."""
    monkeypatch.setattr(bell, "PAUSE_S", 0.05)
    found = []
    beside(bell.listen, found.append)
    wait_until(lambda: found == [None], "somebody listens")
    return found


def test_what_is_given_is_heard_and_what_is_undone_is_not(heard, teacher, worker_later):
    with transaction.atomic():
        letter_of(teacher)
        transaction.set_rollback(True)
    with transaction.atomic():
        letter_of(teacher)
        assert heard == [None]
    wait_until(lambda: heard == [None, "mail"], "the letter")


class Noting(threading.Event):
    """What a hand waits for, and whether it does."""

    waits = False

    def wait(self, timeout=None):
        self.waits = True
        try:
            return super().wait(timeout)
        finally:
            self.waits = False


def test_a_hand_that_rests_for_an_hour_wakes(teacher, worker_later, beside, monkeypatch):
    monkeypatch.setattr(bell, "PAUSE_S", 0.05)
    listens, listen = threading.Event(), bell.listen

    def noted(heard, ended):
        listen(lambda queue: (heard(queue), listens.set()), ended)

    def work(stopped):
        hand.stopped = stopped
        _work([hand], stopped)

    monkeypatch.setattr(bell, "listen", noted)
    hand = queues.Hand(["mail"], threading.Event(), 3600)
    hand.rung = Noting()
    stopped = beside(work)
    try:
        wait_until(
            lambda: listens.is_set() and hand.rung.waits and not hand.rung.is_set(), "it listens and rests"
        )
        letter_of(teacher)
        wait_until(lambda: len(mail.outbox) == 1, "the letter is sent")
    finally:
        stopped.set()
        hand.rung.set()


@pytest.mark.sqlite("PostgreSQL tells of it by itself")
def test_a_pipe_that_nobody_reads_is_taken_away_and_the_others_are_rung(heard, teacher, worker_later):
    dead = bell.pipes() / "1-1.pipe"
    os.mkfifo(dead)
    letter_of(teacher)
    wait_until(lambda: "mail" in heard, "the letter")
    assert not dead.exists()
    assert len(list(bell.pipes().iterdir())) == 1


@pytest.mark.sqlite("PostgreSQL tells of it by itself")
def test_where_no_pipe_can_be_the_task_is_given_all_the_same(teacher, worker_later, settings, tmp_path):
    settings.DATA_DIR = tmp_path / "gone"
    letter_of(teacher)
    assert queues.waiting(["mail"]).count() == 1
