"""What goes wrong, begun and mended again: processes killed, disk full, read-only, clock, mail, a lock."""

import os
import resource
import shutil
import signal
import subprocess
import sys
from contextlib import suppress

KINDS = ("web process", "decoder child", "worker", "web server", "serve", "all at once")
# how often each, of sixteen
SHARES = {"web process": 4, "decoder child": 4, "worker": 4, "web server": 1, "serve": 2, "all at once": 1}
LOCKED_S = 25


def kill(site, kind, rng):
    """SIGKILL one process of a kind, or all; return how many were hit."""
    kinds = site.kinds()
    if kind == "all at once":
        hit = sorted(
            {pid for pids in kinds.values() for pid in pids}, key=lambda pid: pid != site.process.pid
        )
    else:
        alive = sorted(kinds[kind])
        hit = [alive[int(rng.integers(len(alive)))]] if alive else []
    for pid in hit:
        with suppress(ProcessLookupError):
            os.kill(pid, signal.SIGKILL)
    if site.process.pid in hit:
        site.process.wait()
    return len(hit)


def _succeeds(command):
    return subprocess.run(command, capture_output=True).returncode == 0  # noqa: S603


class SmallDisk:
    """The data on a disk of their own that can be full; where none may be mounted, no file may grow."""

    def __init__(self, site, megabytes):
        self.site, self.filler = site, site.data / "filler"
        size = f"size={megabytes}m"
        command = ["mount", "-t", "tmpfs", "-o", size, "tmpfs", str(site.data)]
        self.is_mounted = bool(shutil.which("mount")) and _succeeds(command)
        self.way = f"tmpfs of {megabytes} MB" if self.is_mounted else "RLIMIT_FSIZE, no file may grow"

    def begin(self):
        if self.is_mounted:
            with suppress(OSError), self.filler.open("wb") as file:
                while True:
                    file.write(bytes(1 << 16))
                    file.flush()
        else:
            self._limit(1)

    def end(self):
        self.filler.unlink(missing_ok=True)
        if not self.is_mounted:
            self._limit(resource.RLIM_INFINITY)

    def _limit(self, most):
        """Of all processes but those that open what people sent: those have a limit of their own."""
        kinds = self.site.kinds()
        for pid in {pid for kind, pids in kinds.items() if kind != "decoder child" for pid in pids}:
            with suppress(OSError):
                resource.prlimit(pid, resource.RLIMIT_FSIZE, (most, resource.RLIM_INFINITY))

    def close(self):
        if self.is_mounted:
            subprocess.run(["umount", "--lazy", str(self.site.data)], check=True)  # noqa: S603, S607


def _allow(paths, mode):
    for path in paths:
        with suppress(FileNotFoundError):  # SQLite takes its files away where the last process ended in order
            path.chmod(mode)


class ReadOnly:
    """Database, its log and every folder may be read, not written; a process begins that knows no other."""

    def __init__(self, site):
        self.site = site

    def _all(self):
        root = self.site.data
        folders = [root, *(folder for folder in root.rglob("*") if folder.is_dir())]
        return folders, list(root.glob("studio.sqlite3*"))

    def begin(self):
        folders, files = self._all()
        _allow(files, 0o444)
        _allow(folders, 0o555)
        for pid in sorted(self.site.kinds()["web process"])[:1]:
            with suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)

    def end(self):
        folders, files = self._all()
        _allow(folders, 0o755)
        _allow(files, 0o644)


class Clock:
    """Set on or back by so many seconds, and right again."""

    def __init__(self, site, seconds):
        self.site, self.seconds = site, seconds

    def begin(self):
        self.site.set_clock(self.seconds)

    def end(self):
        self.site.set_clock(0)


class NoMail:
    """The mail server is away."""

    def __init__(self, mail):
        self.mail = mail

    def begin(self):
        self.mail.stop()

    def end(self):
        self.mail.start()


HOLD = """
import sqlite3, sys, time
rows = sqlite3.connect(sys.argv[1], timeout=600, isolation_level=None)
rows.execute("BEGIN IMMEDIATE")
print("locked", flush=True)
time.sleep(float(sys.argv[2]))
rows.execute("COMMIT")
"""


class Locked:
    """Another process holds the database's lock, longer than a request waits for it."""

    def __init__(self, site):
        self.site, self.holder = site, None

    def begin(self):
        command = [sys.executable, "-c", HOLD, str(self.site.data / "studio.sqlite3"), str(LOCKED_S)]
        self.holder = subprocess.Popen(command, stdout=subprocess.PIPE)  # noqa: S603
        self.holder.stdout.readline()

    def end(self):
        self.holder.wait()
        self.holder.stdout.close()
