"""Texts in a table that no spreadsheet runs: guarded on the way out, as they were on the way in.

A spreadsheet runs a cell that begins with = + - @ (or one of a few more) as a formula. So a text that begins
so gets an apostrophe before it, and nothing else does: a number stays a number, -0.5 among them. What the
apostrophe hides is found again exactly: `unguarded(guarded(text)) == text` for every text.

Source
------
OWASP, CSV Injection, names the signs and the apostrophe.
"""

from __future__ import annotations

import re

GUARD = "'"
# the usual four, white space that some programs skip, and the wide letters that some read like the usual
STARTS = "=+-@\t\r\n＝＋－＠"
_RUNS = re.compile(f"{GUARD}*[{re.escape(STARTS)}]")
_GUARDED = re.compile(f"{GUARD}+[{re.escape(STARTS)}]")


def guarded(text: str) -> str:
    """Return a text that no spreadsheet runs: with an apostrophe before it where it begins like a formula.

    A text that begins with apostrophes and then like a formula gets one more, so that it can be told apart.
    """
    return GUARD + text if _RUNS.match(text) else text


def unguarded(text: str) -> str:
    """Return the text from which `guarded` made this one."""
    return text[len(GUARD) :] if _GUARDED.match(text) else text
