"""The real `manage.py serve` with data of its own: started, started again, its processes by kind."""

import ctypes
import json
import os
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing, suppress
from pathlib import Path

from tests.studio.serving import ROOT, children_of, command_line, environment, is_alive
from tests.torture.ports import own_port

PR_CAPBSET_DROP, CAP_DAC_OVERRIDE = 24, 1
AGAIN_S = 1.0
HURRY = (
    "UPDATE django_tasks_database_dbtaskresult SET run_after = '2000-01-01 00:00:00'"
    " WHERE status = 'READY' AND run_after > '2000-01-01 00:00:00'"
)


def obey_permissions():
    """Have even an administrator's process heed who may write a file: prctl(2), capabilities(7)."""
    ctypes.CDLL(None).prctl(PR_CAPBSET_DROP, CAP_DAC_OVERRIDE, 0, 0, 0)


class Site:
    """One studio in a folder of its own."""

    def __init__(self, data, mail_port, given):
        self.data = Path(data)
        self.in_bucket = bool(given)
        self.clock = self.data.parent / "clock"
        self.set_clock(0)
        shifted = str(Path(__file__).parent / "clock")
        paths = os.pathsep.join(filter(None, [shifted, os.environ.get("PYTHONPATH", "")]))
        mail = f"smtp://127.0.0.1:{mail_port}"
        own = {"DEMO": "0", "EMAIL_URL": mail, "LOG_LEVEL": "ERROR", "PORT": str(own_port())}
        self.surroundings = environment(self.data, **own, **given)
        self.shifted = {"PYTHONPATH": paths, "CLOCK_IS_SET_BY": str(self.clock)}
        self.port = int(self.surroundings["PORT"])
        self.said = self.data.parent / "said"
        self.process, self.starts, self.ended, self.ours, self.last_start = None, 0, 0, set(), 0.0

    def path(self, rest):
        return f"/studio/{self.known['studio']}/{rest}"

    # --- its rows ---

    def make(self):
        if not (self.data / "studio.sqlite3").exists():
            self._manage("migrate", "--verbosity", "0")
        self._manage("createcachetable")
        self.known = self._rows("make", {})
        self.item = self.known["item"]

    def count(self, kept):
        return self._rows("count", kept)

    def _manage(self, *words):
        subprocess.run([sys.executable, "manage.py", *words], cwd=ROOT, env=self.surroundings, check=True)  # noqa: S603

    def _rows(self, what, given):
        file = self.data.parent / "rows.json"
        file.write_text(json.dumps(given))
        command = [sys.executable, "-m", "tests.torture.rows", what, str(file)]
        subprocess.run(command, cwd=ROOT, env=self.surroundings, check=True)  # noqa: S603
        return json.loads(file.with_suffix(f".{what}").read_text())

    def has_done_all(self):
        """Whether all tasks have come to their end; not, where the database cannot say so yet."""
        question = (
            "SELECT count(*) FROM django_tasks_database_dbtaskresult WHERE status IN ('READY', 'RUNNING')"
            " OR (status = 'FAILED' AND traceback NOT LIKE 'given up%')"
        )
        with (
            suppress(sqlite3.OperationalError),
            closing(sqlite3.connect(self.data / "studio.sqlite3", timeout=60)) as rows,
        ):
            if self.in_bucket:
                rows.execute(HURRY)
                rows.commit()
            return rows.execute(question).fetchone() == (0,)
        return False

    # --- its processes ---

    def start(self):
        with self.said.open("a") as said:
            self.process = subprocess.Popen(
                [sys.executable, "manage.py", "serve"],
                cwd=ROOT,
                env=self.surroundings | self.shifted,
                stdout=said,
                stderr=subprocess.STDOUT,
                preexec_fn=obey_permissions,
            )
        self.starts, self.last_start = self.starts + 1, time.monotonic()

    def look_after(self):
        """Start it again where it ended, as a system's supervisor does; note every process it has."""
        if self.process.poll() is not None and time.monotonic() - self.last_start > AGAIN_S:
            self.ended += 1
            self.start()
        self.ours |= {(pid, born(pid)) for pid in (self.process.pid, *children_of(self.process.pid))}

    def kinds(self):
        """Its processes that live, by what they are."""
        found = {"serve": {self.process.pid} if self.process.poll() is None else set()}
        named = {pid: command_line(pid) for pid in children_of(self.process.pid)}
        granian = {pid for pid, line in named.items() if "granian" in line}
        found["web server"] = granian & children_below(self.process.pid)
        found["web process"] = granian - found["web server"]
        found["worker"] = {pid for pid, line in named.items() if "manage.py work" in line}
        found["decoder child"] = {pid for pid, line in named.items() if "studio.confined.child" in line}
        return found

    def stop(self):
        """End it in order."""
        if self.process is not None and self.process.poll() is None:
            self.process.send_signal(signal.SIGTERM)
            self.process.wait()

    def living(self):
        """Of all processes that it ever had, those that go on."""
        return {pid: command_line(pid) for pid, since in self.ours if is_alive(pid) and born(pid) == since}

    def set_clock(self, seconds):
        self.clock.write_text(str(seconds))


def _fields(pid):
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    except (OSError, ProcessLookupError):
        return []


def born(pid):
    """When a process began, in ticks of the machine; a later one of the same number began later."""
    fields = _fields(pid)
    return int(fields[19]) if fields else None


def children_below(pid):
    """Direct children alone."""
    return {child for child in children_of(pid) if _fields(child)[1:2] == [str(pid)]}
