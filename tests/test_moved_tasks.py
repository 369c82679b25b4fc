"""Tasks that waited in the queue when their modules moved are found again."""

from importlib import import_module

import pytest
from django.apps import apps
from django.utils.module_loading import import_string
from django_tasks.base import Task
from django_tasks_db.models import DBTaskResult

MIGRATIONS = [import_module(f"{app}.migrations.0002_tasks_moved") for app in ("reeds", "lessons")]


@pytest.mark.parametrize("migration", MIGRATIONS, ids=lambda module: module.__name__)
def test_every_task_is_where_the_migration_says(migration):
    for after in migration.MOVED.values():
        assert isinstance(import_string(after), Task)


@pytest.mark.django_db
def test_a_waiting_task_is_renamed_forwards_and_backwards():
    migration = MIGRATIONS[0]
    before, after = next(iter(migration.MOVED.items()))

    waiting = DBTaskResult.objects.create(
        task_path=before, args_kwargs={"args": [1], "kwargs": {}}, backend_name="x"
    )
    migration.forwards(apps, None)
    waiting.refresh_from_db()
    assert waiting.task_path == after
    migration.backwards(apps, None)
    waiting.refresh_from_db()
    assert waiting.task_path == before
