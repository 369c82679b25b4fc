"""A task that does nothing: what it takes is the queue's own (`tests.bench.queue`)."""

from __future__ import annotations

from django_tasks import task


@task(queue_name="mail")
def nothing(_number: int) -> None:
    """Do nothing."""
