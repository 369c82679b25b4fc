"""The one kind of error that is meant to be read by a person."""

from __future__ import annotations


class NotPossible(Exception):
    """Something a person asked for cannot be done; the message is one sentence that says why and what to do.

    Actions raise it, views show it beside what was entered. `reeds.numbers.words` shows the whole family.
    """
