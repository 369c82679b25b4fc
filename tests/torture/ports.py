"""Ports that stay ours while nobody listens there, as when a server was killed and is started again."""

import random
import socket

# below those that the system gives to whoever asks for any (Linux: from 32768 on): tests beside this one do
OURS = range(20000, 30000)
_given = set()  # one that was given is not yet listened at: whoever asks for eight gets eight


def own_port():
    """A port that is free now, given once, and that nobody but another run like this one would take."""
    for port in random.sample(OURS, len(OURS)):
        if port in _given:
            continue
        with socket.socket() as trial:
            try:
                trial.bind(("127.0.0.1", port))
            except OSError:
                continue
            _given.add(port)
            return port
    raise OSError("no port is free")
