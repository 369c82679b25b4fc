"""The child: shuts itself in, then does one job after another until the pipe ends.

Started as `python -m studio.confined.child MODULE ...`; the modules are loaded beforehand, so that the first
job need not wait for them.
"""

from __future__ import annotations

import importlib
import inspect
import os
import sys
import sysconfig
import traceback
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, BinaryIO

from studio.confined import kernel, wire

MEMORY_BYTES = 1536 * 1024 * 1024
ROOT = Path(__file__).parents[2]
SYSTEM = {"/usr", "/lib", "/lib64", "/sys/devices/system/cpu"}


def readable() -> list[Path]:
    """Return the folders of programs and libraries: all that a job may read beside what it is given."""
    python = {sys.prefix, sys.base_prefix, *sysconfig.get_paths().values()}
    ours = {ROOT / part for part in ("studio", "reeds", "lessons")}
    return sorted({Path(path) for path in python | SYSTEM} | ours)


def shut_in(modules: list[str]) -> dict[str, bool]:
    """Give up all that a job does not need; return what of it this system could do."""
    held = {"no network": kernel.cut_network(), "ends with the worker": kernel.die_with_parent()}
    kernel.stand_back()
    for module in modules:
        importlib.import_module(module)
    kernel.limit_files()
    held["memory"] = kernel.limit_memory(MEMORY_BYTES)
    held["no other file"] = kernel.read_only_beneath(readable())  # last: afterwards little can be looked up
    return held


Answer = tuple[str, Any, Any]


def answers(name: str, given: tuple[Any, ...], processor_s: int) -> Iterator[Answer]:
    """Do one job: ("done", result, None), ("refused", sentence, params) or ("broke", what happened, None).

    A job that is a generator has ("part", result, None) for each of its parts as soon as it is made, and
    ("end", None, None) where nothing went wrong.
    """
    kernel.limit_processor(processor_s)
    return done(name, given)


def done(name: str, given: tuple[Any, ...]) -> Iterator[Answer]:
    """Do one job and answer as above, without any limit."""
    try:
        made = _function(name)(*given)
        if inspect.isgenerator(made):
            for part in made:
                yield "part", part, None
            yield "end", None, None
        else:
            yield "done", made, None
    except MemoryError:
        yield "broke", "it needed more memory than it may have", None
    except Exception as error:  # whatever a library throws at a file that nobody foresaw
        sentence = getattr(error, "sentence", "")
        if sentence:  # one of ours, that says why to people
            yield "refused", sentence, getattr(error, "params", {})
        else:
            yield "broke", traceback.format_exc(limit=-3), None


def _function(name: str) -> Callable[..., Any]:
    module, _colon, function = name.partition(":")
    found: Callable[..., Any] = getattr(importlib.import_module(module), function)
    return found


def main(modules: list[str]) -> None:
    jobs: BinaryIO = os.fdopen(os.dup(0), "rb")
    said_to: BinaryIO = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    held = shut_in(modules)
    # what a library prints must not get between the messages, nor fail because no file may grow
    for output in (1, 2):
        os.dup2(nowhere, output)
    wire.write(said_to, held)
    while True:
        try:
            said = wire.read(jobs)
        except EOFError:
            return
        for answer in answers(*wire.trusted(said)):
            wire.write(said_to, answer)


if __name__ == "__main__":
    main(sys.argv[1:])
