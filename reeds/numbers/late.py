"""Modules loaded when a name of theirs is first asked for: numpy, OpenCV, and of ours what few requests need.

Modules that the web loads take numpy and OpenCV from here, so that it starts in half the time; what runs in
workers and children alone imports them as usual. Of ours those are late that a task or one page alone asks
for: a tenth of the start. Held by tests/test_start.py.
"""

from __future__ import annotations

from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING

__all__ = ["Late", "cv2", "np"]


class Late:
    """Stands for the module called `name`; keeps no part of it, so that a part replaced is heeded.

    Whoever takes a module of ours so imports it for mypy and the contracts too, where TYPE_CHECKING is true.
    """

    def __init__(self, name: str) -> None:
        self._name = name
        self._module: ModuleType | None = None

    def __getattr__(self, part: str) -> object:
        if self._module is None:
            self._module = import_module(self._name)  # waits where another thread is about it
        return getattr(self._module, part)


if TYPE_CHECKING:
    import cv2
    import numpy as np
else:
    cv2, np = Late("cv2"), Late("numpy")
