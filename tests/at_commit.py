"""Tasks done in tests: as soon as what they were asked for in is committed, as by a worker that is quick."""

from __future__ import annotations

from threading import local
from typing import Any

from django.db import connection, transaction
from django_tasks.backends.immediate import ImmediateBackend

_doing = local()


class AtCommit(ImmediateBackend):
    """Does a task once the transaction of whoever asks ends well; what a task asks for is done at once."""

    def _execute_task(self, task_result: Any) -> None:
        if connection.in_atomic_block and not getattr(_doing, "one", False):
            transaction.on_commit(lambda: self._do(task_result))
        else:
            self._do(task_result)

    def _do(self, task_result: Any) -> None:
        before, _doing.one = getattr(_doing, "one", False), True
        try:
            super()._execute_task(task_result)
        finally:
            _doing.one = before
