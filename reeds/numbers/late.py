"""numpy and OpenCV, loaded when a name of theirs is first asked for: most pages ask for none.

Modules that the web loads take them from here, so that it starts in half the time; what runs in workers and
children alone imports them as usual. Held by tests/test_start.py.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

__all__ = ["cv2", "np"]

if TYPE_CHECKING:
    import cv2
    import numpy as np
else:

    class _Late:
        """Stands for the module called `name`; keeps no part of it, so that a part replaced is heeded."""

        def __init__(self, name: str) -> None:
            self._name, self._module = name, None

        def __getattr__(self, part: str) -> object:
            if self._module is None:
                self._module = import_module(self._name)  # waits where another thread is about it
            return getattr(self._module, part)

    cv2, np = _Late("cv2"), _Late("numpy")
