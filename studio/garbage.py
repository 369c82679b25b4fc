"""When a web process looks for garbage: seldom, since nearly all that a page makes goes by itself."""

from __future__ import annotations

import gc

# a page of ours makes up to 3,000 things that live until it is answered. By Python's own choice of 700 each
# page is looked through three times while somebody waits for it, and hardly ever for anything
BETWEEN = 10_000


def settle() -> None:
    """Take what is loaded by now for what stays, and look seldom through what comes after it."""
    gc.freeze()
    gc.set_threshold(BETWEEN)
