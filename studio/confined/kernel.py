"""What Linux offers to shut a process in; each says whether it took, and where not, the rest still holds.

Sources: the manual pages prctl(2), unshare(2), setrlimit(2), landlock(7); include/uapi/linux/landlock.h.
"""

from __future__ import annotations

import ctypes
import os
import resource
import signal
import sys
from collections.abc import Iterable
from pathlib import Path

PR_SET_PDEATHSIG = 1
PR_SET_NO_NEW_PRIVS = 38
CLONE_NEWUSER = 0x10000000
CLONE_NEWNET = 0x40000000
# the same numbers on every architecture
LANDLOCK_CREATE_RULESET, LANDLOCK_ADD_RULE, LANDLOCK_RESTRICT_SELF = 444, 445, 446
LANDLOCK_RULE_PATH_BENEATH = 1
READ_FILE, READ_DIR = 1 << 2, 1 << 3
# the rights that the first version of the rules knows: execute, write, read, list, remove, make of all kinds
ALL_RIGHTS = (1 << 13) - 1
NICER = 15


def _libc() -> ctypes.CDLL:
    return ctypes.CDLL(None, use_errno=True)


def die_with_parent(parent: int | None = None) -> bool:
    """Have the kernel kill this process when the one that started it ends, however it ends.

    Killed, not asked to end: a web process that still loads has its server's deaf ears. A parent that ended
    before this call is known by its number.
    """
    if not sys.platform.startswith("linux"):
        return False
    took: bool = _libc().prctl(PR_SET_PDEATHSIG, signal.SIGKILL, 0, 0, 0) == 0
    if parent is not None and os.getppid() != parent:
        os.kill(os.getpid(), signal.SIGKILL)
    return took


def stand_back() -> None:
    """Let pages go first: what is worked on here can wait a little longer."""
    os.nice(NICER)


def cut_network() -> bool:
    """Take a network of one's own in which there is nothing; only while there is one thread."""
    if not sys.platform.startswith("linux"):
        return False
    libc = _libc()
    # who is no administrator gets it with a list of users of one's own, where the system allows that
    return any(libc.unshare(flags) == 0 for flags in (CLONE_NEWNET, CLONE_NEWUSER | CLONE_NEWNET))


def limit_memory(more_bytes: int) -> bool:
    """Allow so much more address space than is taken now."""
    try:
        pages = int(Path("/proc/self/statm").read_text().split()[0])
    except (OSError, ValueError):
        return False
    most = pages * resource.getpagesize() + more_bytes
    resource.setrlimit(resource.RLIMIT_AS, (most, most))
    return True


def limit_files() -> None:
    """Allow no file to grow, and no core to be left behind."""
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def limit_processor(more_s: int) -> None:
    """Allow so many seconds more than were used; whoever goes on is ended by the kernel."""
    used = resource.getrusage(resource.RUSAGE_SELF)
    _soft, hard = resource.getrlimit(resource.RLIMIT_CPU)
    resource.setrlimit(resource.RLIMIT_CPU, (int(used.ru_utime + used.ru_stime) + more_s, hard))


class _Rules(ctypes.Structure):
    _fields_ = (("handled_access_fs", ctypes.c_uint64),)


class _Beneath(ctypes.Structure):
    _pack_ = 1
    _fields_ = (("allowed_access", ctypes.c_uint64), ("parent_fd", ctypes.c_int32))


def read_only_beneath(folders: Iterable[Path]) -> bool:
    """Allow reading below these folders and nothing of any other file."""
    if not sys.platform.startswith("linux"):
        return False
    libc, rules = _libc(), _Rules(ALL_RIGHTS)
    ruleset = libc.syscall(LANDLOCK_CREATE_RULESET, ctypes.byref(rules), ctypes.sizeof(rules), 0)
    if ruleset < 0:
        return False
    try:
        return all(_allow(libc, ruleset, folder) for folder in folders if folder.is_dir()) and (
            libc.prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) == 0
            and libc.syscall(LANDLOCK_RESTRICT_SELF, ruleset, 0) == 0
        )
    finally:
        os.close(ruleset)


def _allow(libc: ctypes.CDLL, ruleset: int, folder: Path) -> bool:
    place = os.open(folder, os.O_PATH | os.O_CLOEXEC)
    try:
        rule = _Beneath(READ_FILE | READ_DIR, place)
        took: bool = (
            libc.syscall(LANDLOCK_ADD_RULE, ruleset, LANDLOCK_RULE_PATH_BENEATH, ctypes.byref(rule), 0) == 0
        )
        return took
    finally:
        os.close(place)
