"""What a script of ours imports, so that a page asks for all of it at once and not one after the other.

In production a script holds what it imports (studio/bundles.py), and there is nothing to ask for ahead.
"""

from __future__ import annotations

import posixpath
import re
from functools import cache
from pathlib import Path

from django.contrib.staticfiles import finders

# of a module's head; what is imported when it is wanted is not asked for ahead
IMPORTED = re.compile(r"""^\s*(?:import|export)\b(?:[^;'"()]*\bfrom)?\s*["'](\.[^"']+)["']""", re.M)


@cache
def _imports(name: str) -> tuple[str, ...]:
    found = finders.find(name)
    if not isinstance(found, str):
        raise ValueError(f"There is no script {name}")
    paths = IMPORTED.findall(Path(found).read_text())
    return tuple(posixpath.normpath(posixpath.join(posixpath.dirname(name), path)) for path in paths)


@cache
def imported_by(*names: str) -> tuple[str, ...]:
    """Return the names of all scripts that these import, and those theirs; each once, the nearest first.

    Raises ValueError where one of them is not there.
    """
    seen = dict.fromkeys(names)
    waiting = list(names)
    while waiting:
        new = [name for name in _imports(waiting.pop(0)) if name not in seen]
        seen.update(dict.fromkeys(new))
        waiting += new
    return tuple(seen)[len(names) :]
