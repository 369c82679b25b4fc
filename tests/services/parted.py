"""A studio of many parts: two web processes behind nginx, two workers; none shares a disk with another."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

from django_tasks_db.models import DBTaskResult

from studio.worker import process_of
from tests.studio.before_nginx import configured, nginx_with
from tests.studio.serving import ROOT, environment, free_port, start, stop, wait_until

ANSWERED_BY = "x-answered-by"
# in turn, whatever one of them answers
IN_TURN = """
access_log off;
upstream both.example.org {{
    server 127.0.0.1:{ports[0]} max_fails=0; server 127.0.0.1:{ports[1]} max_fails=0;
}}
server {{
    listen 127.0.0.1:{own}; client_max_body_size 30m;
    location / {{
        proxy_pass http://both.example.org; proxy_set_header Host $http_host;
        add_header X-Answered-By $upstream_addr always;
    }}
}}
"""


class Parted:
    """Such a studio, reached at one address."""

    def __init__(self, folder: Path, given: dict[str, str], around: ExitStack) -> None:
        self.folder, self.around, self.own = folder, around, free_port()
        self.address = f"http://127.0.0.1:{self.own}"
        self.given = given | {"SITE_ADDRESS": self.address, "WEB_WORKERS": "1"}
        self.workers: list[subprocess.Popen[bytes]] = []

    def begin(self) -> None:
        sites = [self._web(name) for name in ("one", "other")]
        for _each in range(2):
            self.start_worker()
        example = self.folder / "in-turn"
        example.write_text(IN_TURN.format(ports=sites, own=self.own))
        self.around.enter_context(nginx_with(configured(self.folder, example, {})))

    def _web(self, name: str) -> str:
        surroundings = self._surroundings(name)
        output = self.folder / f"{name}.said"
        site = start(surroundings, output, "--no-worker", "--no-prepare")
        self.around.callback(stop, site)
        wait_until(lambda: "The studio is at" in output.read_text(), site)
        return surroundings["PORT"]

    def start_worker(self) -> None:
        command = [sys.executable, "manage.py", "work"]
        surroundings = self._surroundings(f"worker-{len(self.workers)}")
        worker = subprocess.Popen(command, cwd=ROOT, env=surroundings)  # noqa: S603
        self.around.callback(_ended, worker)
        self.workers.append(worker)

    def kill_who_works(self) -> int:
        """Kill the worker that takes up a task, and start one in its place, as its unit does; say which."""
        wait_until(lambda: _taken_by() is not None)
        pid = int(str(_taken_by()))
        (dead,) = [worker for worker in self.workers if worker.pid == pid]
        os.kill(pid, signal.SIGKILL)
        dead.wait()
        self.start_worker()
        return pid

    def _surroundings(self, name: str) -> dict[str, str]:
        data = self.folder / name
        data.mkdir()
        return environment(data, **self.given)


def _taken_by() -> str | None:
    """Return the number of the process that took a task up, if one did."""
    taken = [task.worker_ids[-1] for task in DBTaskResult.objects.all() if task.worker_ids]
    return process_of(taken[0]).rpartition("/")[2] if taken else None


def _ended(worker: subprocess.Popen[bytes]) -> None:
    worker.kill()
    worker.wait()


@contextmanager
def parted(folder: Path, given: dict[str, str]) -> Iterator[Parted]:
    with ExitStack() as around:
        yield Parted(folder, given, around)
