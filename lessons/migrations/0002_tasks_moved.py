"""Tasks that wait in the queue are found where their modules are now."""

from collections.abc import Mapping

from django.apps.registry import Apps
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

MOVED = {
    "lessons.tasks.tell_of_round": "lessons.sending.tasks.tell_of_round",
    "lessons.tasks.tell_of_answer": "lessons.answering.tasks.tell_of_answer",
    "lessons.tasks.tell_of_reply": "lessons.answering.tasks.tell_of_reply",
}


def rename(apps: Apps, moved: Mapping[str, str]) -> None:
    waiting = apps.get_model("django_tasks_database", "DBTaskResult")._default_manager
    for before, after in moved.items():
        waiting.filter(task_path=before).update(task_path=after)


def forwards(apps: Apps, _editor: BaseDatabaseSchemaEditor | None) -> None:
    rename(apps, MOVED)


def backwards(apps: Apps, _editor: BaseDatabaseSchemaEditor | None) -> None:
    rename(apps, {after: before for before, after in MOVED.items()})


class Migration(migrations.Migration):
    dependencies = [
        ("lessons", "0001_initial"),
        ("django_tasks_database", "0021_conditional_partial_index_ordering"),
    ]
    operations = [migrations.RunPython(forwards, backwards)]
