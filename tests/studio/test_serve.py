"""One command starts web server and worker, and leaves nothing running."""

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
from pathlib import Path

import pytest
from django.db import connection

from studio.management.commands.serve import web
from tests.studio.serving import (
    PATIENCE_S,
    ROOT,
    assert_all_end,
    children_of,
    command_line,
    environment,
    free_port,
    is_alive,
    start,
    stop,
    wait_until,
    worker_below,
)


@pytest.fixture
def surroundings(tmp_path, django_db_setup):
    """An environment with nothing set but a port and a data folder, in which is what an earlier start left.

    The first start ever is looked at in test_production and in the tests of the demo.
    """
    data = tmp_path / "data"
    data.mkdir()
    with (
        closing(sqlite3.connect(connection.settings_dict["NAME"])) as empty,
        closing(sqlite3.connect(data / "studio.sqlite3")) as copy,
    ):
        empty.backup(copy)
    return environment(data, DEMO="0")


@pytest.fixture
def serve(surroundings, tmp_path):
    """Return a function that starts `manage.py serve`; it gives the process and the file of its output."""
    output = tmp_path / "output"
    started = []

    def run(**changes):
        started.append(start(surroundings | changes, output))
        return started[-1], output

    yield run
    for process in started:
        stop(process)


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_it_answers_and_a_signal_stops_all_it_started(serve, surroundings, number):
    process, output = serve()
    wait_until(lambda: "The studio is at" in output.read_text(), process)
    address = f"http://127.0.0.1:{surroundings['PORT']}"
    assert address in output.read_text()
    with urllib.request.urlopen(address, timeout=PATIENCE_S) as page:
        assert b"csrfmiddlewaretoken" in page.read()
    with urllib.request.urlopen(f"{address}/static/css/base.css", timeout=PATIENCE_S) as sheet:  # noqa: S310
        assert b"--paper" in sheet.read()

    started = children_of(process.pid)
    assert len(started) >= 3  # web server, its workers, our worker
    process.send_signal(number)
    assert process.wait(PATIENCE_S) == 0
    assert_all_end(started)
    assert "Traceback" not in output.read_text()


def test_a_worker_that_dies_is_started_again(serve):
    process, output = serve()
    wait_until(lambda: worker_below(process.pid), process)
    first = worker_below(process.pid)
    wait_until(lambda: "The studio is at" in output.read_text(), process)
    os.kill(first, signal.SIGKILL)
    wait_until(lambda: worker_below(process.pid) not in (None, first), process)
    assert "it is started again" in output.read_text()


def web_below(pid):
    """The web server and its processes."""
    return sorted(child for child in children_of(pid) if "granian" in command_line(child))


def served(surroundings):
    try:
        with urllib.request.urlopen(f"http://127.0.0.1:{surroundings['PORT']}", timeout=5) as page:
            return b"csrfmiddlewaretoken" in page.read()
    except OSError:
        return False


def test_a_web_process_that_dies_is_started_again(serve, surroundings):
    process, output = serve(WEB_WORKERS="2")
    wait_until(lambda: "The studio is at" in output.read_text(), process)
    wait_until(lambda: len(web_below(process.pid)) >= 3, process)
    server, *workers = web_below(process.pid)
    os.kill(workers[-1], signal.SIGKILL)
    wait_until(lambda: set(web_below(process.pid)) - {server, *workers}, process)
    assert server in web_below(process.pid)
    wait_until(lambda: served(surroundings), process)


def test_when_the_web_server_dies_it_is_started_again_once_and_then_all_ends_with_a_sentence(
    serve, surroundings
):
    process, output = serve()
    wait_until(lambda: "The studio is at" in output.read_text(), process)
    first = web_below(process.pid)
    os.kill(first[0], signal.SIGKILL)
    wait_until(lambda: served(surroundings) and not any(map(is_alive, first)), process)
    assert "The web server ended by itself; it is started again." in output.read_text()

    started = children_of(process.pid)
    os.kill(web_below(process.pid)[0], signal.SIGKILL)
    assert process.wait(PATIENCE_S) == 1
    assert "The web server ended by itself, twice" in output.read_text()
    assert_all_end(started)


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


def test_when_serve_is_killed_all_it_started_ends_and_the_port_is_free(serve, surroundings):
    process, output = serve()
    wait_until(lambda: "The studio is at" in output.read_text(), process)
    started = children_of(process.pid)
    process.kill()
    assert_all_end(started)
    again, said = serve()
    wait_until(lambda: said.read_text().count("The studio is at"), again)
    assert served(surroundings)


def got(surroundings, path):
    """The status of an answer, its headers and its bytes."""
    connection = http.client.HTTPConnection("127.0.0.1", int(surroundings["PORT"]), timeout=PATIENCE_S)
    with closing(connection):
        connection.request("GET", path)
        answer = connection.getresponse()
        return answer.status, answer.headers, answer.read()


def ready(surroundings):
    status, _headers, body = got(surroundings, "/readyz")
    return status, json.loads(body)


def test_readyz_sees_the_worker_and_misses_one_that_is_silent(serve, surroundings):
    process, output = serve()
    wait_until(lambda: "The studio is at" in output.read_text(), process)
    wait_until(lambda: ready(surroundings)[0] == 200, process)
    worker = worker_below(process.pid)
    os.kill(worker, signal.SIGSTOP)  # it lives and does nothing
    seen = Path(surroundings["DATA_DIR"]) / "worker_seen"
    os.utime(seen, (seen.stat().st_mtime - 200,) * 2)
    status, said = ready(surroundings)
    assert (status, said["worker"], said["database"]) == (503, "none was seen lately", "ok")
    os.kill(worker, signal.SIGCONT)
    wait_until(lambda: ready(surroundings)[0] == 200, process)


def test_each_line_of_the_log_is_an_object_with_the_number_of_its_answer(serve, surroundings):
    process, output = serve(LOG_FORMAT="json")
    wait_until(lambda: "The studio is at" in output.read_text(), process)
    status, headers, _body = got(surroundings, "/no-such-page/?asked=a-private-word")
    wait_until(lambda: "Not Found" in output.read_text(), process)
    (line,) = [line for line in output.read_text().splitlines() if "Not Found" in line]
    assert (status, json.loads(line)["request"]) == (404, headers["X-Request-ID"])
    assert json.loads(line)["said"] == "Not Found: /no-such-page/"


def test_a_taken_port_is_told_in_one_sentence(serve, surroundings):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", int(surroundings["PORT"])))
        taken.listen()
        process, output = serve()
        assert process.wait(PATIENCE_S) == 1
    assert f"Port {surroundings['PORT']} is taken" in output.read_text()
    assert "Traceback" not in output.read_text()


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"PRODUCTION": "1"}, "PRODUCTION is set and SECRET_KEY is not"),
        ({"PORT": "many"}, "PORT is set to 'many'"),
        ({"LOG_FORMAT": "xml"}, "LOG_FORMAT is set to 'xml'; it may be plain or json."),
        ({"SITE_ADDRESS": "http://a.example", "ALLOWED_HOSTS": "b.example"}, "every page would answer 400"),
    ],
)
def test_settings_that_cannot_work_are_told_in_one_sentence(serve, changes, sentence):
    process, output = serve(**changes)
    assert process.wait(PATIENCE_S) == 1
    assert sentence in output.read_text()
    assert "Traceback" not in output.read_text()


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="the kernel's own signal is Linux's")
def test_one_whose_parent_ended_before_it_asked_to_die_with_it_ends_at_once():
    script = "from studio.confined.kernel import die_with_parent; die_with_parent(1); print('still here')"
    ended = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, check=False)  # noqa: S603
    assert (ended.returncode, ended.stdout) == (-signal.SIGKILL, b"")
