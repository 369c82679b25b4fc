"""Programs started beside each other: started, watched, and all stopped at the end."""

from __future__ import annotations

import contextlib
import os
import signal
import socket
import subprocess
import time
from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import Path

from studio.confined.kernel import die_with_parent

GRACE_S = 12.0


class Stopped(Exception):
    """Somebody asked for the end, by Ctrl-C or by a signal."""


class Child:
    """One program; it gets a session of its own, so that Ctrl-C reaches only whoever stops it in order."""

    def __init__(
        self,
        command: Sequence[str],
        folder: Path,
        surroundings: Mapping[str, str] | None = None,
        said: Path | None = None,
    ) -> None:
        self.command, self.folder, self.surroundings = list(command), folder, surroundings
        self.said = said  # the file of what it says; without one it says it where we do
        self.process: subprocess.Popen[bytes] | None = None
        self.started_at = 0.0
        self.starts = 0

    def start(self) -> None:
        with self.said.open("wb") if self.said else contextlib.nullcontext() as output:
            self.process = subprocess.Popen(  # noqa: S603  # our own command
                self.command,
                cwd=self.folder,
                env=self.surroundings,
                stdout=output,
                stderr=output and subprocess.STDOUT,
                start_new_session=True,
                # who is killed cannot stop its children: the kernel ends them
                preexec_fn=partial(die_with_parent, os.getpid()),
            )
        self.started_at = time.monotonic()
        self.starts += 1

    @property
    def is_alive(self) -> bool:
        return self.process is not None and self.process.poll() is None

    def wait(self, at_most_s: float | None = None) -> int | None:
        """Return the exit code once it ended; None if it did not within the time."""
        if self.process is None:
            return None
        try:
            return self.process.wait(at_most_s)
        except subprocess.TimeoutExpired:
            return None

    @property
    def lived_s(self) -> float:
        return time.monotonic() - self.started_at

    def send(self, number: signal.Signals) -> None:
        """Signal the program and everything it started."""
        if self.process is None:
            return
        with contextlib.suppress(ProcessLookupError):
            # the group outlives its leader while anything the leader started still runs
            os.killpg(self.process.pid, number)


def stop(children: Sequence[Child], grace_s: float = GRACE_S) -> None:
    """Ask all to end, then end those that do not."""
    for child in children:
        if child.process is not None and child.is_alive:
            child.process.terminate()
    until = time.monotonic() + grace_s
    while time.monotonic() < until and any(child.is_alive for child in children):
        time.sleep(0.05)
    for child in children:
        child.send(signal.SIGKILL)
        if child.process is not None:
            child.process.wait()


def port_is_free(address: str, port: int) -> bool:
    """Whether a server could listen there."""
    with socket.socket(socket.AF_INET6 if ":" in address else socket.AF_INET) as trial:
        trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            trial.bind((address, port))
        except OSError:
            return False
    return True


def answers(address: str, port: int) -> bool:
    """Whether somebody listens there."""
    try:
        socket.create_connection((address, port), timeout=1).close()
    except OSError:
        return False
    return True
