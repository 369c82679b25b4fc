"""What the worker has to do and what it could not do; a task that failed can be run again."""

from __future__ import annotations

import uuid
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db.models import Count, Min
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from studio.worker import run_again


class Command(BaseCommand):
    help = "List what the worker has to do and what failed; --again runs what failed once more."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--again", metavar="ID", help="a task that failed, or 'all' of them")

    def handle(self, *_args: Any, again: str | None = None, **_options: Any) -> None:  # noqa: ANN401  # as BaseCommand has it
        if again:
            self._again(again)
            return
        rows = DBTaskResult.objects.exclude(status="SUCCESSFUL").order_by()
        kinds = rows.values("status", "queue_name", "task_path").order_by("queue_name", "status", "task_path")
        for row in kinds.annotate(n=Count("pk"), since=Min("enqueued_at")):
            self.stdout.write(
                f"{row['queue_name']:8} {row['status']:8} {row['n']:5} {row['task_path']} "
                f"since {row['since']:%Y-%m-%d %H:%M}"
            )
        for task in DBTaskResult.objects.filter(status="FAILED").order_by("-finished_at")[:20]:
            last = (task.traceback.strip().splitlines() or [""])[-1]
            self.stdout.write(f"{task.pk} {task.task_path} {_numbers(task)} {last[:200]}")
        if not rows.exists():
            self.stdout.write("Nothing waits and nothing failed.")

    def _again(self, which: str) -> None:
        rows = DBTaskResult.objects.filter(status="FAILED")
        if which != "all":
            rows = rows.filter(pk=_id(which))
        tasks = list(rows)
        if not tasks:
            raise CommandError("No task that failed has this number.")
        rows.update(worker_ids=[], traceback="")
        for task in tasks:
            run_again(task, timezone.now())
        self.stdout.write(f"{len(tasks)} to be run again.")


def _numbers(task: DBTaskResult[Any, Any]) -> list[int]:
    """Return what it was given as far as that is the number of a row: words may be secret."""
    return [one for one in task.args_kwargs["args"] if isinstance(one, int)]


def _id(which: str) -> uuid.UUID:
    try:
        return uuid.UUID(which)
    except ValueError:
        raise CommandError("Give the number of a task as it is listed, or 'all'.") from None
