"""The one kind of error that is meant to be read by a person, and the one that a service is away."""

from __future__ import annotations


class NotPossible(Exception):
    """Something a person asked for cannot be done; the message is one sentence that says why and what to do.

    Actions raise it, views show it beside what was entered. `reeds.numbers.words` shows the whole family.
    """


class FilesUnreachable(OSError):
    """Where files are kept does not answer, or refuses us; a task that met it is tried until it does."""
