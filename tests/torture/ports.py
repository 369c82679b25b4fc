"""Ports that stay ours while nobody listens there, as when a server was killed and is started again."""

import itertools
import random
import socket

# below those that the system gives to whoever asks for any (Linux: from 32768 on): tests beside this one do
OURS = range(20000, 30000)


def own_port():
    """A port that is free now, and that nobody but another run like this one would take."""
    for port in itertools.islice(iter(lambda: random.choice(OURS), None), len(OURS)):  # noqa: S311
        with socket.socket() as trial:
            try:
                trial.bind(("127.0.0.1", port))
            except OSError:
                continue
            return port
    raise OSError("no port is free")
