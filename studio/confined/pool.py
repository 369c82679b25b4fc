"""The worker's side: children that stand ready, one job at a time each, ended when they overrun."""

from __future__ import annotations

import atexit
import contextlib
import logging
import os
import pickle
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from typing import Any, BinaryIO, cast

from django.conf import settings

from studio.confined import child, wire

logger = logging.getLogger("studio.confined")
READY = 2  # one works, one stands by for when it breaks
JOBS_EACH = 200  # then a fresh one takes its place: what libraries leak goes with it
PROCESSOR_S = 60  # of one job; three minutes of sound take ten, sixty megapixels eight
LONGEST_S = 600.0  # by the clock, on a machine busy with much else
# before a job is tried again whose child somebody else killed, which says nothing of the file: who kills one
# may kill all, and us next
PAUSES_S = (1.0, 5.0)
TRIES = 1 + len(PAUSES_S)
# all of ours that it may know: not the key, not where the database is
PASSED_ON = ("PATH", "HOME", "LANG", "LC_ALL", "PYTHONPATH", "VIRTUAL_ENV")
QUIETLY = {"OPENBLAS_NUM_THREADS": "1", "MALLOC_ARENA_MAX": "2", "PYTHONDONTWRITEBYTECODE": "1"}


class Refusal(Exception):
    """The job looked at what it was given and will not have it; a marked sentence says why."""

    def __init__(self, sentence: str, params: dict[str, object]) -> None:
        super().__init__(sentence)
        self.sentence, self.params = sentence, params


class Broke(Exception):
    """The job broke off: its process died, took too long or met what nobody foresaw."""


class Killed(Broke):
    """Its process was killed, and not by us."""


class Helper:
    """One child process."""

    def __init__(self, modules: Sequence[str]) -> None:
        surroundings = {name: os.environ[name] for name in PASSED_ON if name in os.environ} | QUIETLY
        self.process = subprocess.Popen(  # noqa: S603  # our own command
            [sys.executable, "-m", "studio.confined.child", *modules],
            cwd=settings.BASE_DIR,
            env=surroundings,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        )
        self.questions = cast("BinaryIO", self.process.stdin)
        self.answers = cast("BinaryIO", self.process.stdout)
        self.held: dict[str, bool] | None = None
        self.jobs = 0
        self.overran = False

    @property
    def is_alive(self) -> bool:
        return self.process.poll() is None

    def ask(self, message: object, longest_s: float) -> child.Answer:
        """Return its first answer; raises EOFError, OSError or UnpicklingError where it gives none."""
        with self._within(longest_s):
            if self.held is None:
                self.held = wire.plain(wire.read(self.answers))
                _tell_what_is_missing(self.held)
            wire.write(self.questions, message)
            self.jobs += 1
            return self._answer()

    def go_on(self, longest_s: float) -> child.Answer:
        """Return its next answer to the same; raises as `ask`."""
        with self._within(longest_s):
            return self._answer()

    def _answer(self) -> child.Answer:
        kind, answer, params = wire.plain(wire.read(self.answers))
        return kind, answer, params

    @contextlib.contextmanager
    def _within(self, longest_s: float) -> Iterator[None]:
        alarm = threading.Timer(longest_s, self._overrun)
        alarm.start()
        try:
            yield
        finally:
            alarm.cancel()

    def _overrun(self) -> None:
        self.overran = True
        self.process.kill()

    def end(self) -> int:
        """End it; return how it ended, a negative number for the signal that did."""
        for pipe in (self.questions, self.answers):
            with contextlib.suppress(OSError):
                pipe.close()
        with contextlib.suppress(subprocess.TimeoutExpired):
            return self.process.wait(0.5)
        self.process.kill()
        return self.process.wait()


@lru_cache(maxsize=1)
def _warn(missing: tuple[str, ...]) -> None:
    logger.warning("this system cannot shut in what opens files that people sent: %s", ", ".join(missing))


def _tell_what_is_missing(held: dict[str, bool]) -> None:
    """Say once what the system could not do."""
    missing = tuple(name for name, took in held.items() if not took)
    if missing:
        _warn(missing)


class Pool:
    """A few children of which one is always ready; may be used by several threads.

    `ready` are started ahead, `kept` stay when their jobs are done: as many as work at once, for to start one
    takes longer than most jobs.
    """

    def __init__(self, modules: Sequence[str], ready: int = READY, kept: int = READY) -> None:
        self.modules, self.ready, self.kept = list(modules), ready, kept
        self._free: list[Helper] = []
        self._lock = threading.Lock()

    def fill(self) -> None:
        """Start what is missing, without waiting for it; of those that stood ready and died none is left."""
        with self._lock:
            dead = [helper for helper in self._free if not helper.is_alive]
            self._free = [helper for helper in self._free if helper not in dead]
            self._free += [Helper(self.modules) for _place in range(self.ready - len(self._free))]
        for helper in dead:
            helper.end()

    def run(
        self, name: str, *given: object, processor_s: int = PROCESSOR_S, longest_s: float = LONGEST_S
    ) -> Any:  # noqa: ANN401  # what the job gave
        """Do the job `module:function` with plain values in a child; return the plain values it gives.

        Raises Refusal where the job refuses what it was given, Broke where it came to no end.
        """
        return next(self.parts(name, *given, processor_s=processor_s, longest_s=longest_s))

    def parts(
        self, name: str, *given: object, processor_s: int = PROCESSOR_S, longest_s: float = LONGEST_S
    ) -> Iterator[Any]:
        """Do a job that is a generator: each part is here once it is made, and the child goes on meanwhile.

        Raises as `run`, but nothing is tried again once a part of it was given. Who drops this before its end
        ends the child.
        """
        helper, answer = self._begun((name, given, processor_s), longest_s)
        try:
            while answer[0] == "part":
                yield answer[1]
                answer = self._answered(name, helper, lambda: helper.go_on(longest_s))
        except GeneratorExit:
            helper.end()
            raise
        self._give_back(helper)
        if answer[0] != "end":
            yield told(name, *answer)

    def _begun(self, message: tuple[str, object, int], longest_s: float) -> tuple[Helper, child.Answer]:
        """Return the child that does this, and its first answer."""
        for pause_s in PAUSES_S:
            with contextlib.suppress(Killed):
                return self._asked(message, longest_s)
            time.sleep(pause_s)
        return self._asked(message, longest_s)

    def _asked(self, message: tuple[str, object, int], longest_s: float) -> tuple[Helper, child.Answer]:
        helper = self._take()
        return helper, self._answered(message[0], helper, lambda: helper.ask(message, longest_s))

    def _answered(self, name: str, helper: Helper, answer: Callable[[], child.Answer]) -> child.Answer:
        """Return what it answers; where it does not, end it and say how it ended."""
        try:
            return answer()
        except (EOFError, OSError, ValueError, TypeError, pickle.UnpicklingError) as error:
            ended = helper.end()
            logger.warning("%s ended with %d: %s", name, ended, str(error) or "no answer")
            by_others = (
                ended == -signal.SIGKILL and not helper.overran and isinstance(error, EOFError | OSError)
            )
            raise (Killed if by_others else Broke)(f"{name}: its process ended ({ended})") from None

    def end(self) -> None:
        """End all that stand ready."""
        with self._lock:
            free, self._free = self._free, []
        for helper in free:
            helper.end()

    def _take(self) -> Helper:
        self.fill()
        with self._lock:
            return self._free.pop(0)

    def _give_back(self, helper: Helper) -> None:
        with self._lock:
            if helper.jobs < JOBS_EACH and len(self._free) < self.kept:
                self._free.insert(0, helper)
                return
        helper.end()


def told(name: str, kind: str, answer: Any, params: Any) -> Any:  # noqa: ANN401  # what the job gave
    """Return what a job answered, or raise what it answered instead."""
    if kind == "refused":
        raise Refusal(answer, params)
    if kind == "broke":
        logger.warning("%s broke: %s", name, answer)
        raise Broke(answer)
    return answer


@lru_cache(maxsize=1)
def pool() -> Pool:
    """Return this process's own."""
    made = Pool(settings.CONFINED_JOBS, kept=1 + settings.QUEUES["pictures"] + settings.QUEUES["sounds"])
    atexit.register(made.end)
    return made


def run(name: str, *given: object) -> Any:  # noqa: ANN401  # what the job gave
    """Do a job in a child, or, where the settings say so, here; raises as `Pool.run`."""
    return next(parts(name, *given))


def parts(name: str, *given: object) -> Iterator[Any]:
    """Do a job that is a generator likewise; raises as `Pool.parts`."""
    if settings.CONFINE:
        yield from pool().parts(name, *given)
        return
    for kind, answer, params in child.done(name, given):
        if kind != "end":
            yield told(name, kind, answer, params)
