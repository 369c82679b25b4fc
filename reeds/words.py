"""Marks sentences of the pure packages for translation, so that they need no web framework.

`makemessages` finds the calls by their name; the sentence is translated where it is shown.
"""


def gettext_noop(message: str) -> str:
    """Return `message` unchanged; its only use is to be found by the translation tools."""
    return message
