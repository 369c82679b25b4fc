"""Marks sentences of the pure packages for translation and fills them in, so that they need no web framework.

`makemessages` finds the calls by their name; the sentence is translated where it is shown.
"""

import re
from collections.abc import Callable, Mapping


def gettext_noop(message: str) -> str:
    """Return `message` unchanged; its only use is to be found by the translation tools."""
    return message


def _shown(key: str, value: object, translate: Callable[[str], str], number: Callable[[float], str]) -> str:
    if isinstance(value, float):
        return number(int(value) if value.is_integer() else value)
    return translate(value) if isinstance(value, str) and key.endswith(("name", "label")) else str(value)


def said(
    message: str,
    params: Mapping[str, object],
    translate: Callable[[str], str] = str,
    number: Callable[[float], str] = "{:g}".format,
) -> str:
    """Return the sentence `message` translated and filled with `params`.

    Parameters
    ----------
    message : str
        A marked sentence with named places such as ``%(name)s``; empty gives empty.
    params : mapping
        Parameters whose key ends in ``name`` or ``label`` are marked words themselves and are translated
        too; floats go through `number` (a page passes its locale's way of writing a number).

    Raises
    ------
    KeyError
        If the sentence asks for a parameter that is not given.
    """
    if not message:
        return ""
    filled = {key: _shown(key, value, translate, number) for key, value in params.items()}
    # a quantity without a unit leaves its place empty: no double space
    sentence = re.sub(" {2,}", " ", translate(message) % filled)
    return sentence[:1].upper() + sentence[1:]
