"""One command starts web server and worker, and leaves nothing running."""

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest
from django.conf import settings

ROOT = Path(__file__).parent.parent.parent
PATIENCE_S = 240  # a busy machine loads the demo in a minute or two


def free_port():
    with socket.socket() as any_port:
        any_port.bind(("127.0.0.1", 0))
        return any_port.getsockname()[1]


@pytest.fixture
def surroundings(tmp_path):
    """An environment with nothing set but a data folder and a port."""
    kept = {name: value for name, value in os.environ.items() if name not in settings.ENVIRONMENT}
    return kept | {"DATA_DIR": str(tmp_path / "data"), "PORT": str(free_port()), "DEMO": "0"}


@pytest.fixture
def serve(surroundings, tmp_path):
    """Return a function that starts `manage.py serve`; it gives the process and the file of its output."""
    output = tmp_path / "output"
    started = []

    def run(**changes):
        command = [sys.executable, "manage.py", "serve"]
        with output.open("w") as file:
            process = subprocess.Popen(  # noqa: S603
                command, cwd=ROOT, env=surroundings | changes, stdout=file, stderr=subprocess.STDOUT
            )
        started.append(process)
        return process, output

    yield run
    for process in started:
        if process.poll() is None:
            process.send_signal(signal.SIGTERM)
            process.wait(PATIENCE_S)


def wait_until(true, process=None):
    until = time.monotonic() + PATIENCE_S
    while time.monotonic() < until:
        if true():
            return
        assert process is None or process.poll() is None, "it ended too early"
        time.sleep(0.1)
    raise AssertionError("waited too long")


def children_of(pid):
    """Every process below this one, by the parent that /proc names."""
    parents = {}
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            parents[int(stat.parent.name)] = int(stat.read_text().rpartition(")")[2].split()[1])
        except (FileNotFoundError, ProcessLookupError):
            continue
    found, level = set(), {pid}
    while level:
        level = {child for child, parent in parents.items() if parent in level}
        found |= level
    return found


def command_line(pid):
    try:
        return Path(f"/proc/{pid}/cmdline").read_text().replace("\0", " ")
    except (FileNotFoundError, ProcessLookupError):
        return ""


def worker_below(pid):
    return next((child for child in children_of(pid) if "manage.py work" in command_line(child)), None)


def is_alive(pid):
    return bool(command_line(pid))


def test_the_first_time_the_demo_is_loaded_and_its_sign_ins_are_told(serve):
    process, output = serve(DEMO="1")
    wait_until(lambda: "The studio is at" in output.read_text(), process)
    wait_until(lambda: "password" in output.read_text(), process)
    assert output.read_text().count("password") == 1


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_it_answers_and_a_signal_stops_all_it_started(serve, surroundings, number):
    process, output = serve()
    wait_until(lambda: "The studio is at" in output.read_text(), process)
    address = f"http://127.0.0.1:{surroundings['PORT']}"
    assert address in output.read_text()
    with urllib.request.urlopen(address, timeout=30) as page:
        assert b"csrfmiddlewaretoken" in page.read()
    with urllib.request.urlopen(f"{address}/static/css/base.css", timeout=30) as sheet:  # noqa: S310
        assert b"--paper" in sheet.read()

    started = children_of(process.pid)
    assert len(started) >= 3  # web server, its workers, our worker
    process.send_signal(number)
    assert process.wait(PATIENCE_S) == 0
    wait_until(lambda: not any(map(is_alive, started)))
    assert "Traceback" not in output.read_text()


def test_a_worker_that_dies_is_started_again(serve):
    process, output = serve()
    wait_until(lambda: worker_below(process.pid), process)
    first = worker_below(process.pid)
    wait_until(lambda: "The studio is at" in output.read_text(), process)
    os.kill(first, signal.SIGKILL)
    wait_until(lambda: worker_below(process.pid) not in (None, first), process)
    assert "it is started again" in output.read_text()


def test_when_the_web_server_dies_all_ends_with_a_sentence(serve):
    process, output = serve()
    wait_until(lambda: "The studio is at" in output.read_text(), process)
    started = children_of(process.pid)
    web = next(pid for pid in sorted(started) if "granian" in command_line(pid))
    os.kill(web, signal.SIGKILL)
    assert process.wait(PATIENCE_S) == 1
    assert "The web server ended by itself" in output.read_text()
    wait_until(lambda: not any(map(is_alive, started)))


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
        ({"SITE_ADDRESS": "http://a.example", "ALLOWED_HOSTS": "b.example"}, "every page would answer 400"),
    ],
)
def test_settings_that_cannot_work_are_told_in_one_sentence(serve, changes, sentence):
    process, output = serve(**changes)
    assert process.wait(PATIENCE_S) == 1
    assert sentence in output.read_text()
    assert "Traceback" not in output.read_text()
