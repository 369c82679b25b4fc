"""Messages between the worker and its child: a length, then a pickle.

The child reads what nobody can vouch for, so of what it answers only plain values are taken: a child that was
taken over cannot name a function for the worker to call.
"""

from __future__ import annotations

import io
import pickle  # see Plain
import struct
from typing import Any, BinaryIO

LENGTH = struct.Struct(">Q")
LARGEST_BYTES = 256 * 1024 * 1024
# beside what needs no name: numbers, words, bytes, lists, dicts
NAMED = {
    ("datetime", "datetime"),
    ("datetime", "timedelta"),
    ("datetime", "timezone"),
    ("builtins", "complex"),
}


class Plain(pickle.Unpickler):
    """Reads plain values alone."""

    def find_class(self, module: str, name: str) -> Any:  # noqa: ANN401  # as Unpickler has it
        if (module, name) not in NAMED:
            raise pickle.UnpicklingError(f"{module}.{name} is no plain value")
        return super().find_class(module, name)


def write(pipe: BinaryIO, message: object) -> None:
    """Write one message."""
    said = pickle.dumps(message, protocol=5)
    pipe.write(LENGTH.pack(len(said)) + said)
    pipe.flush()


def read(pipe: BinaryIO) -> bytes:
    """Read one message, not yet looked into; raises EOFError where the other side ended."""
    head = pipe.read(LENGTH.size)
    if len(head) < LENGTH.size:
        raise EOFError
    (length,) = LENGTH.unpack(head)
    if length > LARGEST_BYTES:
        raise EOFError
    said = pipe.read(length)
    if len(said) < length:
        raise EOFError
    return said


def plain(said: bytes) -> Any:  # noqa: ANN401  # whatever was written
    """Return a message of the child's; raises UnpicklingError where it is more than plain values."""
    return Plain(io.BytesIO(said)).load()


def trusted(said: bytes) -> Any:  # noqa: ANN401  # whatever was written
    """Return a message of the worker's, who may name whatever is to be called."""
    return pickle.loads(said)  # noqa: S301  # from the process that started this one
