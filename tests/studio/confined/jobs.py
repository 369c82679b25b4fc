"""Jobs that behave as a file of somebody with bad intent could make a library behave."""

import ctypes
import os
import signal
import socket
import time
from fractions import Fraction
from pathlib import Path


class Unfit(ValueError):
    """A refusal: it says itself in a sentence."""

    def __init__(self, sentence, **params):
        super().__init__(sentence)
        self.sentence, self.params = sentence, params


def echo(given):
    return given


def who():
    return os.getpid()


def surroundings():
    return sorted(os.environ)


def refuse():
    raise Unfit("This is %(name)s.", name="nothing")


def stumble():
    raise RuntimeError("nobody foresaw this")


def fall():
    ctypes.string_at(1)


def swell():
    return len([bytearray(64 * 1024 * 1024) for _ in range(64)])


def compute():
    while True:
        pass


def be_killed():
    os.kill(os.getpid(), signal.SIGKILL)


def wait():
    time.sleep(3600)


def read_file(path):
    return Path(path).read_bytes()


def write_file(path):
    Path(path).write_bytes(b"x")


def run_program(path):
    os.execv(path, [path])  # noqa: S606


def call(port):
    with socket.create_connection(("127.0.0.1", port), timeout=5):
        return "somebody answered"


def send_away(port):
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as out:
        return out.sendto(b"x", ("127.0.0.1", port))


def answer_with_more_than_plain_values():
    return Fraction(1, 3)


def say_much():
    os.write(1, b"x" * 100_000)
    print("noise", flush=True)  # noqa: T201
    return "done"


def several(count):
    yield from range(count)


def moments():
    yield time.monotonic()
    yield time.monotonic()


def first_and(job):
    yield "first"
    globals()[job]()
