"""The door that what people send goes through, watched: how each file ended, its cost, what it touched."""

import ctypes
import logging
import os
import resource
import select
import socket
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from unittest import mock

from django.core.files.base import ContentFile
from django.test import override_settings

from reeds.apart import apart
from reeds.numbers.words import Refused
from reeds.photo.uploads import check_upload
from studio.confined import pool
from studio.errors import NotPossible

PREPARE, LOOK = "reeds.photo.vision.jobs:prepare", "reeds.photo.vision.jobs:look"
HEAR = "reeds.take.sound.jobs:hear"
JOBS = ["reeds.photo.vision.jobs", "reeds.take.sound.jobs"]
READ, REFUSED, BROKE, DIED = "read", "refused", "broke", "died"
TICKS = os.sysconf("SC_CLK_TCK")


@dataclass(frozen=True)
class Outcome:
    """How one file ended: read, refused with a sentence, broken off, or with the end of its child."""

    name: str
    ended: str
    said: str
    cpu_s: float
    peak_mb: float


class Door:
    """Hands files to the children of a pool, and looks at the child that is next before and after each."""

    def __init__(self, children, look=True):
        self.children, self.look = children, look

    def photo(self, name, data):
        """As the web looks at it, then all of it decoded, then the copy looked at."""
        try:
            kind = check_upload(ContentFile(data)).removeprefix(".")
        except NotPossible as refusal:
            return [Outcome(name, REFUSED, str(refusal), 0.0, 0.0)]
        whole, made = self._asked(f"{name} (as {kind})", PREPARE, data)
        if made is None or not self.look:
            return [whole]
        upright = made["copies"]["upright"]
        return [whole, self._asked(f"{name} (looked at)", LOOK, upright, None, "reed", "opening")[0]]

    def sent(self, sort, files):
        """Send files one after another as takes or as photos; return how each ended, step by step."""
        send = self.take if sort == "take" else self.photo
        return [send(name, data) for name, data in files]

    def take(self, name, data):
        return [self._asked(name, HEAR, data, 442.0, "tuning", ["A4"])[0]]

    def _asked(self, name, job, *given):
        self.children.fill()
        process = self.children._free[0].process
        before, ended_before = _processor_s(process.pid), _of_the_ended_s()
        _forget_peak(process.pid)
        with _log() as log:
            try:
                made, ended, said = apart(job, *given), READ, ""
            except Refused as refusal:
                made, ended, said = None, REFUSED, refusal.sentence
        if log:
            ended = DIED if "ended with" in log[-1] else BROKE
            said = log[-1].strip().splitlines()[-1]
        if process.poll() is not None:  # it died, or had done as many jobs as one does
            return Outcome(name, ended, said, _of_the_ended_s() - ended_before - before, 0.0), made
        cpu_s, peak_mb = _processor_s(process.pid) - before, _peak_mb(process.pid)
        return Outcome(name, ended, said, cpu_s, peak_mb), made


def _processor_s(pid):
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / TICKS


def _of_the_ended_s():
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _forget_peak(pid):
    Path(f"/proc/{pid}/clear_refs").write_text("5")


def _peak_mb(pid):
    for line in Path(f"/proc/{pid}/status").read_text().splitlines():
        if line.startswith("VmHWM"):
            return int(line.split()[1]) / 1024
    return 0.0


@contextmanager
def _log():
    """Gather what the pool says of a job that broke off."""
    lines, logger = [], logging.getLogger("studio.confined")
    handler = logging.Handler()
    handler.emit = lambda record: lines.append(record.getMessage())
    logger.addHandler(handler)
    try:
        yield lines
    finally:
        logger.removeHandler(handler)


@contextmanager
def door(look=True):
    """Open it as the worker does, with children of its own; without `look` no photo is looked at."""
    made = pool.Pool(JOBS)
    try:
        with override_settings(CONFINE=True), mock.patch.object(pool, "pool", return_value=made):
            yield Door(made, look)
    finally:
        made.end()


class Decoys:
    """A file, a port to call and a port to listen on that bombs name; `touched` says which were."""

    def __init__(self, folder):
        self.path = folder / "decoy.wav"
        self.path.write_bytes(bytes(1000))
        self._watch = _watch_file(self.path)
        self._called = socket.create_server(("127.0.0.1", 0))
        self.port = self._called.getsockname()[1]
        self._free = socket.socket(type=socket.SOCK_DGRAM)  # bound now, so nobody else can have it
        self._free.bind(("127.0.0.1", 0))
        self.udp = self._free.getsockname()[1]

    def touched(self):
        found, _w, _x = select.select([self._watch, self._called], [], [], 0)
        return [name for name, one in (("file", self._watch), ("port", self._called)) if one in found]

    def close(self):
        os.close(self._watch)
        self._called.close()
        self._free.close()


def _watch_file(path):
    """Return a descriptor that can be read once somebody opened the file: inotify(7), IN_OPEN."""
    libc = ctypes.CDLL(None, use_errno=True)
    watch = libc.inotify_init1(os.O_NONBLOCK)
    if watch < 0 or libc.inotify_add_watch(watch, str(path).encode(), 0x20) < 0:
        raise OSError(ctypes.get_errno(), "inotify")
    return watch
