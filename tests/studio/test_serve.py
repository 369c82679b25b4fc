"""One command starts web server and worker, and leaves nothing running."""

import contextlib
import http.client
import json
import os
import signal
import socket
import sqlite3
import subprocess
import sys
import urllib.request
from contextlib import closing

import pytest

from studio import children
from studio.children import Child
from studio.management.commands import serve
from studio.management.commands.serve import web
from tests.studio.serving import (
    PATIENCE_S,
    ROOT,
    Served,
    assert_all_end,
    children_of,
    command_line,
    free_port,
    is_alive,
    start,
    stop,
    wait_until,
    with_empty_database,
    worker_below,
)


@contextlib.contextmanager
def serving(folder, surroundings):
    """Start `manage.py serve`, and stop it at the end."""
    output = folder / f"output {surroundings['PORT']}"
    served = Served(start(surroundings, output), output, surroundings)
    try:
        yield served
    finally:
        stop(served.process)


def wait_for_its_address(served):
    wait_until(lambda: f"The studio is at {served.address}" in served.said, served.process)


@pytest.fixture(scope="module")
def running(tmp_path_factory, django_db_setup):
    """A studio that runs through this module's tests; whatever died in it is started again."""
    folder = tmp_path_factory.mktemp("running")
    surroundings = with_empty_database(folder / "data", DEMO="0", WEB_WORKERS="2", LOG_FORMAT="json")
    with serving(folder, surroundings) as served:
        wait_for_its_address(served)
        yield served


@pytest.fixture
def surroundings(tmp_path, django_db_setup):
    return with_empty_database(tmp_path / "data", DEMO="0", WEB_WORKERS="1")


def got(served, path):
    """The status of an answer, its headers and its bytes."""
    connection = http.client.HTTPConnection("127.0.0.1", int(served.surroundings["PORT"]), timeout=PATIENCE_S)
    with closing(connection):
        connection.request("GET", path)
        answer = connection.getresponse()
        return answer.status, answer.headers, answer.read()


def answers(served):
    try:
        with urllib.request.urlopen(served.address, timeout=5) as page:  # noqa: S310
            return b"csrfmiddlewaretoken" in page.read()
    except OSError:
        return False


def web_below(pid):
    """The web server and its processes."""
    return sorted(child for child in children_of(pid) if "granian" in command_line(child))


def kill(pid):
    with contextlib.suppress(ProcessLookupError):
        os.kill(pid, signal.SIGKILL)


def test_it_answers(running):
    wait_until(lambda: answers(running), running.process)
    status, _headers, sheet = got(running, "/static/css/base.css")
    assert (status, b"--paper" in sheet) == (200, True)
    assert len(children_of(running.process.pid)) >= 3  # web server, its workers, our worker
    assert "Traceback" not in running.said


def test_each_line_of_the_log_is_an_object_with_the_number_of_its_answer(running):
    status, headers, _body = got(running, "/no-such-page/?asked=a-private-word")
    wait_until(lambda: "Not Found" in running.said, running.process)
    (line,) = [line for line in running.said.splitlines() if "Not Found" in line]
    assert (status, json.loads(line)["request"]) == (404, headers["X-Request-ID"])
    assert json.loads(line)["said"] == "Not Found: /no-such-page/"


def ready(served):
    status, _headers, body = got(served, "/readyz")
    return status, json.loads(body)


def silent_for_long(data):
    with closing(sqlite3.connect(data / "studio.sqlite3", timeout=PATIENCE_S)) as rows, rows:
        rows.execute("UPDATE studio_workerlease SET seen_at = datetime('now', '-200 seconds')")


def test_readyz_sees_the_worker_and_misses_one_that_is_silent(running):
    wait_until(lambda: ready(running)[0] == 200, running.process)
    worker, seen = worker_below(running.process.pid), running.data / "worker_seen"

    def is_missed():
        os.kill(worker, signal.SIGSTOP)  # it lives and does nothing
        os.utime(seen, (seen.stat().st_mtime - 200,) * 2)
        silent_for_long(running.data)
        status, said = ready(running)
        if said["database"] == "ok":
            assert (status, said["worker"]) == (503, "none was seen lately")
            return True
        os.kill(worker, signal.SIGCONT)  # it was stopped with the database in its hand
        return False

    wait_until(is_missed, running.process)
    os.kill(worker, signal.SIGCONT)
    wait_until(lambda: ready(running)[0] == 200, running.process)


def test_a_worker_that_dies_is_started_again(running):
    wait_until(lambda: worker_below(running.process.pid), running.process)
    first = worker_below(running.process.pid)
    kill(first)
    wait_until(lambda: worker_below(running.process.pid) not in (None, first), running.process)
    assert "The worker ended by itself; it is started again." in running.said


def test_a_web_process_that_dies_is_started_again(running):
    wait_until(lambda: len(web_below(running.process.pid)) >= 3, running.process)
    server, *workers = web_below(running.process.pid)
    kill(workers[-1])
    wait_until(lambda: set(web_below(running.process.pid)) - {server, *workers}, running.process)
    assert server in web_below(running.process.pid)
    wait_until(lambda: answers(running), running.process)


def test_when_the_web_server_dies_it_is_started_again_once_and_then_all_ends_with_a_sentence(running):
    """The last that `running` goes through."""
    first = web_below(running.process.pid)
    kill(first[0])
    wait_until(lambda: answers(running) and not any(map(is_alive, first)), running.process)
    assert "The web server ended by itself; it is started again." in running.said

    started = children_of(running.process.pid)

    def ends():
        """It died soon after its start, however slow this machine: killed again and again, it did."""
        for pid in web_below(running.process.pid)[:1]:
            kill(pid)
        return running.process.poll() is not None

    wait_until(ends)
    assert running.process.returncode == 1
    assert "The web server ended by itself, twice" in running.said
    assert_all_end(started)


def test_a_web_server_that_lives_while_nobody_listens_is_started_again(settings, monkeypatch, capsys):
    settings.PORT = free_port()
    monkeypatch.setattr(serve, "LISTEN_EVERY_S", 0)
    site, command = Child([sys.executable, "-c", "import time; time.sleep(600)"], ROOT), serve.Command()
    site.start()
    first = site.process.pid
    try:
        command._revive_site(site)
        monkeypatch.setattr(serve, "START_S", 0)
        with socket.create_server(("127.0.0.1", settings.PORT)):
            command._revive_site(site)
            assert site.process.pid == first
        site.started_at -= serve.SHORT_LIFE_S
        command._revive_site(site)
        assert site.process.pid != first
        assert not is_alive(first)
    finally:
        children.stop([site])
    said = capsys.readouterr().err
    assert "nobody listens; it is ended" in said
    assert "it is started again" in said


def test_a_web_process_that_loads_ends_with_its_server(settings, monkeypatch, tmp_path):
    settings.PORT, settings.WEB_WORKERS = free_port(), 1
    monkeypatch.setenv("LOADING", str(tmp_path / "loading"))
    server = web("tests.studio.never_loaded", grace_s=1)
    server.start()
    try:
        wait_until((tmp_path / "loading").exists, server.process)
        started = children_of(server.process.pid)
        server.process.terminate()
        assert server.wait(PATIENCE_S) is not None
        wait_until(lambda: not any(map(is_alive, started)))
    finally:
        server.send(signal.SIGKILL)


def test_when_serve_is_killed_all_it_started_ends_and_the_port_is_free(tmp_path, surroundings):
    with serving(tmp_path, surroundings) as killed:
        wait_for_its_address(killed)
        started = children_of(killed.process.pid)
        killed.process.kill()
        assert_all_end(started)
    killed.output.unlink()
    with serving(tmp_path, surroundings) as again:
        wait_for_its_address(again)
        assert answers(again)
        is_stopped_by(signal.SIGINT, again)


def is_stopped_by(number, served):
    started = children_of(served.process.pid)
    assert len(started) >= 3  # web server, its worker, our worker
    served.process.send_signal(number)
    assert served.process.wait(PATIENCE_S) == 0
    assert_all_end(started)
    assert "Traceback" not in served.said


def refused(folder, surroundings):
    """What is said by a serve that does not begin."""
    with serving(folder, surroundings) as served:
        assert served.process.wait(PATIENCE_S) == 1
    assert "Traceback" not in served.said
    return served.said


def test_a_taken_port_is_told_in_one_sentence(tmp_path, surroundings):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", int(surroundings["PORT"])))
        taken.listen()
        said = refused(tmp_path, surroundings)
    assert f"Port {surroundings['PORT']} is taken" in said


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"PRODUCTION": "1"}, "PRODUCTION is set and SECRET_KEY is not"),
        ({"PORT": "many"}, "PORT is set to 'many'"),
        ({"LOG_FORMAT": "xml"}, "LOG_FORMAT is set to 'xml'; it may be plain or json."),
        ({"SITE_ADDRESS": "http://a.example", "ALLOWED_HOSTS": "b.example"}, "every page would answer 400"),
    ],
)
def test_settings_that_cannot_work_are_told_in_one_sentence(tmp_path, surroundings, changes, sentence):
    assert sentence in refused(tmp_path, surroundings | changes)


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="the kernel's own signal is Linux's")
def test_one_whose_parent_ended_before_it_asked_to_die_with_it_ends_at_once():
    script = "from studio.confined.kernel import die_with_parent; die_with_parent(1); print('still here')"
    ended = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, check=False)  # noqa: S603
    assert (ended.returncode, ended.stdout) == (-signal.SIGKILL, b"")
