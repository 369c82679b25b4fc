"""For tests that start `manage.py serve`: its environment, its processes, its end."""

import os
import signal
import socket
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.db import connection

ROOT = Path(__file__).parent.parent.parent
PATIENCE_S = 1200  # a machine busy with much else loads the demo in five minutes
END_PATIENCE_S = 120  # what is ended at once by a signal needs no more


@dataclass
class Served:
    """A studio that is served: the process, the file of all it says, its environment."""

    process: subprocess.Popen
    output: Path
    surroundings: dict[str, str]

    @property
    def address(self):
        return f"http://127.0.0.1:{self.surroundings['PORT']}"

    @property
    def data(self):
        return Path(self.surroundings["DATA_DIR"])

    @property
    def said(self):
        return self.output.read_text()


def free_port():
    with socket.socket() as any_port:
        any_port.bind(("127.0.0.1", 0))
        return any_port.getsockname()[1]


def environment(data, **given):
    """Return an environment in which of our settings only these, a data folder and a port are set."""
    kept = {name: value for name, value in os.environ.items() if name not in settings.ENVIRONMENT}
    return kept | {"DATA_DIR": str(data), "PORT": str(free_port())} | given


def with_empty_database(data, **given):
    """Return an environment with a new data folder, in which is what an earlier start left.

    The first start ever is looked at in test_production and in the tests of the demo.
    """
    data.mkdir()
    put_empty_database(data)
    return environment(data, **given)


def put_empty_database(data):
    """Copy the tests' own, which is migrated: to migrate one anew takes half a minute."""
    with (
        closing(sqlite3.connect(connection.settings_dict["NAME"])) as empty,
        closing(sqlite3.connect(data / "studio.sqlite3")) as copy,
    ):
        empty.backup(copy)


def start(surroundings, output, *words):
    """Start `manage.py serve`; what it says goes to the file `output`, after what is there."""
    command = [sys.executable, "manage.py", "serve", *words]
    with output.open("a") as file:
        return subprocess.Popen(  # noqa: S603
            command, cwd=ROOT, env=surroundings, stdout=file, stderr=subprocess.STDOUT
        )


def stop(process):
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


def assert_all_end(pids):
    """Wait for the end of these processes; who goes on is named."""
    until = time.monotonic() + END_PATIENCE_S
    while (left := [pid for pid in pids if is_alive(pid)]) and time.monotonic() < until:
        time.sleep(0.1)
    assert {pid: command_line(pid) for pid in left} == {}


def _parents():
    """The parent of every process, as /proc names it."""
    parents = {}
    for name in filter(
        str.isdigit, os.listdir("/proc")
    ):  # a glob looks at each, and fails where one has ended
        stat = Path("/proc", name, "stat")
        try:
            parents[int(name)] = int(stat.read_text().rpartition(")")[2].split()[1])
        except (FileNotFoundError, ProcessLookupError):
            continue
    return parents


def children_of(pid):
    """Every process below this one."""
    parents, found, level = _parents(), set(), {pid}
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
    """Our worker; what it forks has its command line too until it becomes another program."""
    direct = [child for child, parent in _parents().items() if parent == pid]
    return next((child for child in direct if "manage.py work" in command_line(child)), None)


def is_alive(pid):
    return bool(command_line(pid))
