"""A job that breaks breaks alone: real children, and what the system lets them do."""

import logging
import os
import pickle
import signal
import socket
import subprocess
import sys
import time

import pytest
from django.conf import settings

from studio.confined import wire
from studio.confined.pool import JOBS_EACH, TRIES, Broke, Pool, Refusal

JOBS = "tests.studio.confined.jobs"
pytestmark = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="what shuts in is Linux'")


@pytest.fixture(scope="module")
def pool():
    made = Pool([JOBS])
    yield made
    made.end()


def lives(pid):
    try:
        with open(f"/proc/{pid}/stat") as file:
            return file.read().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False


def test_plain_values_go_in_and_come_out(pool):
    given = {"a": [1, 2.5, None, True], "b": b"\0\xff", "c": ("x", {"y": "ö"})}
    assert pool.run(f"{JOBS}:echo", given) == given


def test_it_is_another_process_and_the_same_one_for_the_next_job(pool):
    first = pool.run(f"{JOBS}:who")
    assert first != os.getpid()
    assert pool.run(f"{JOBS}:who") == first


def test_it_knows_neither_key_nor_database(pool, monkeypatch):
    monkeypatch.setenv("SECRET_KEY", "x" * 60)
    known = Pool([JOBS])
    try:
        assert {"SECRET_KEY", "DATABASE_URL", "DATA_DIR"} & set(known.run(f"{JOBS}:surroundings")) == set()
    finally:
        known.end()


def test_a_refusal_comes_back_with_its_sentence(pool):
    with pytest.raises(Refusal) as refused:
        pool.run(f"{JOBS}:refuse")
    assert (refused.value.sentence, refused.value.params) == ("This is %(name)s.", {"name": "nothing"})


@pytest.mark.parametrize("job", ["stumble", "fall", "swell", "answer_with_more_than_plain_values"])
def test_what_breaks_breaks_alone_and_the_next_job_is_done(pool, job):
    with pytest.raises(Broke):
        pool.run(f"{JOBS}:{job}")
    assert pool.run(f"{JOBS}:echo", 1) == 1


def test_who_computes_for_ever_is_ended_by_the_processor_time(pool):
    begun = time.monotonic()
    with pytest.raises(Broke, match=str(-signal.SIGXCPU)):
        pool.run(f"{JOBS}:compute", processor_s=1, longest_s=600)
    assert time.monotonic() - begun < 300


def test_who_waits_for_ever_is_ended_by_the_clock_and_not_tried_again(pool, caplog):
    with pytest.raises(Broke, match=str(-signal.SIGKILL)):
        pool.run(f"{JOBS}:wait", longest_s=5)
    assert len(caplog.records) == 1


def test_a_job_whose_child_somebody_killed_is_done_by_another(pool):
    """The system that needs memory, or somebody at the machine: it is no fault of what was sent."""
    pool.fill()
    first = pool._free[0].process
    first.kill()
    assert pool.run(f"{JOBS}:who") != first.pid


def test_where_all_that_stood_ready_were_killed_others_do_the_job():
    many = Pool([JOBS], ready=TRIES + 1)
    try:
        many.fill()
        killed = [helper.process for helper in many._free]
        for process in killed:
            process.kill()
            process.wait()
        assert many.run(f"{JOBS}:who") not in [process.pid for process in killed]
    finally:
        many.end()


def test_a_job_whose_children_are_all_killed_breaks_after_its_pauses(pool, caplog, monkeypatch):
    monkeypatch.setattr("studio.confined.pool.PAUSES_S", (0.2, 0.3))
    begun = time.monotonic()
    with pytest.raises(Broke, match=str(-signal.SIGKILL)):
        pool.run(f"{JOBS}:be_killed")
    assert time.monotonic() - begun >= 0.5
    assert len(caplog.records) == TRIES
    assert pool.run(f"{JOBS}:echo", 1) == 1


def test_a_job_that_is_a_generator_gives_part_after_part_and_its_child_stays(pool):
    helper = pool.run(f"{JOBS}:who")
    assert list(pool.parts(f"{JOBS}:several", 3)) == [0, 1, 2]
    assert list(pool.parts(f"{JOBS}:several", 0)) == []
    assert list(pool.parts(f"{JOBS}:echo", 5)) == [5]
    assert pool.run(f"{JOBS}:who") == helper


def test_the_child_goes_on_while_nobody_asks_for_the_next_part(pool):
    parts = pool.parts(f"{JOBS}:moments")
    assert next(parts) < time.monotonic()
    time.sleep(1.0)
    asked = time.monotonic()  # of the system's clock, the same for every process
    assert next(parts) < asked
    assert list(parts) == []


@pytest.mark.parametrize(("job", "error"), [("refuse", Refusal), ("stumble", Broke), ("fall", Broke)])
def test_what_goes_wrong_after_a_part_takes_that_part_back_from_nobody(pool, job, error):
    parts = pool.parts(f"{JOBS}:first_and", job)
    assert next(parts) == "first"
    with pytest.raises(error):
        next(parts)
    assert pool.run(f"{JOBS}:echo", 1) == 1


def test_a_job_whose_child_was_killed_after_a_part_is_not_begun_anew(pool, caplog):
    parts = pool.parts(f"{JOBS}:first_and", "be_killed")
    assert next(parts) == "first"
    with pytest.raises(Broke, match=str(-signal.SIGKILL)):
        next(parts)
    assert len(caplog.records) == 1


def test_who_asks_for_no_further_part_ends_the_child(pool):
    pool.fill()
    process = pool._free[0].process
    parts = pool.parts(f"{JOBS}:first_and", "wait")
    assert next(parts) == "first"
    parts.close()
    assert process.poll() is not None
    assert pool.run(f"{JOBS}:who") != process.pid


def test_a_job_that_prints_does_not_disturb_the_answer(pool):
    assert pool.run(f"{JOBS}:say_much") == "done"


def test_no_other_file_is_read_or_written(pool, tmp_path):
    secret = tmp_path / "studio.sqlite3"
    secret.write_bytes(b"everybody's reeds")
    for job, path in (("read_file", secret), ("read_file", "/etc/passwd"), ("write_file", tmp_path / "new")):
        with pytest.raises(Broke, match="PermissionError"):
            pool.run(f"{JOBS}:{job}", str(path))
    assert not (tmp_path / "new").exists()
    with pytest.raises(Broke, match="PermissionError"):
        pool.run(f"{JOBS}:run_program", "/bin/true")


def test_there_is_no_network(pool):
    with socket.create_server(("127.0.0.1", 0)) as server, socket.socket(type=socket.SOCK_DGRAM) as other:
        other.bind(("127.0.0.1", 0))
        with pytest.raises(Broke, match="unreachable"):
            pool.run(f"{JOBS}:call", server.getsockname()[1])
        with pytest.raises(Broke, match="unreachable"):
            pool.run(f"{JOBS}:send_away", other.getsockname()[1])


def test_a_second_one_stands_by(pool):
    pool.fill()
    before = {helper.process.pid for helper in pool._free}
    assert len(before) == 2
    with pytest.raises(Broke):
        pool.run(f"{JOBS}:fall")
    assert pool.run(f"{JOBS}:who") in before


def test_after_many_jobs_a_fresh_one_takes_over():
    made = Pool([JOBS], ready=1)
    try:
        first = made.run(f"{JOBS}:who")
        made._free[0].jobs = JOBS_EACH
        assert made.run(f"{JOBS}:who") == first
        assert made.run(f"{JOBS}:who") != first
        assert not lives(first)
    finally:
        made.end()


PARENT = f"""
import time
from studio.confined.pool import Pool
pool = Pool(["{JOBS}"])
print(pool.run("{JOBS}:who"), flush=True)
pool.run("{JOBS}:wait")
"""


def test_killing_the_worker_ends_its_children_even_at_work(tmp_path):
    surroundings = os.environ | {"DJANGO_SETTINGS_MODULE": "studio.settings", "DATA_DIR": str(tmp_path)}
    with subprocess.Popen(  # noqa: S603
        [sys.executable, "-c", PARENT], cwd=settings.BASE_DIR, env=surroundings, stdout=subprocess.PIPE
    ) as parent:
        child = int(parent.stdout.readline())
        assert lives(child)
        parent.kill()
    until = time.monotonic() + 60
    while lives(child) and time.monotonic() < until:
        time.sleep(0.05)
    assert not lives(child)


def test_a_system_that_cannot_shut_in_is_told_once(caplog):
    from studio.confined.pool import _tell_what_is_missing, _warn

    _warn.cache_clear()
    with caplog.at_level(logging.WARNING):
        for _time in range(3):
            _tell_what_is_missing({"no network": False, "memory": True})
    assert [record.getMessage().rpartition(": ")[2] for record in caplog.records] == ["no network"]
    _warn.cache_clear()


def test_an_answer_that_names_a_function_is_not_taken():
    with pytest.raises(pickle.UnpicklingError, match="no plain value"):
        wire.plain(pickle.dumps(os.system))
    assert wire.plain(pickle.dumps({"a": b"x"})) == {"a": b"x"}


class Stand:
    """A child that is none, and how many were started."""

    started, is_alive = 0, True

    def __init__(self, _modules):
        self.jobs = self.ended = 0
        type(self).started += 1

    def end(self):
        self.ended += 1


def test_as_many_children_stay_as_work_at_once(monkeypatch):
    monkeypatch.setattr("studio.confined.pool.Helper", Stand)
    kept = Pool([JOBS], ready=1, kept=3)
    for _round in range(5):
        at_work = [kept._take() for _job in range(3)]
        for helper in at_work:
            kept._give_back(helper)
    assert Stand.started == 3
    busy = [kept._take() for _job in range(5)]
    for helper in busy:
        kept._give_back(helper)
    assert [helper.ended for helper in busy].count(1) == 2
