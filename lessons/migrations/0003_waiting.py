"""What a reed waits with: a leak, older rounds folded under the newer, replies nobody has read."""

from django.apps.registry import Apps
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor


def note_leaks(apps: Apps, _editor: BaseDatabaseSchemaEditor | None) -> None:
    rounds = apps.get_model("lessons", "Submission")._default_manager
    leaking = [
        pk
        for pk, findings in rounds.values_list("pk", "findings").iterator()
        if any(one["outcome"] == "differs" and one.get("quantity") == "airtight" for one in findings)
    ]
    rounds.filter(pk__in=leaking).update(leaks=True)


def take_as_read(apps: Apps, _editor: BaseDatabaseSchemaEditor | None) -> None:
    """Take what was said back until now as read: nobody wants a term of it on the first morning."""
    replies = apps.get_model("lessons", "Reply")._default_manager
    replies.filter(read_at__isnull=True).update(read_at=models.F("at"))


class Migration(migrations.Migration):
    dependencies = [("lessons", "0002_tasks_moved")]
    operations = [
        migrations.AddField("submission", "leaks", models.BooleanField(default=False, editable=False)),
        migrations.AddField(
            "submission",
            "answered_with",
            models.ForeignKey(
                null=True,
                on_delete=models.deletion.SET_NULL,
                related_name="folded",
                to="lessons.submission",
            ),
        ),
        migrations.AddField("reply", "read_at", models.DateTimeField(editable=False, null=True)),
        migrations.RunPython(note_leaks, migrations.RunPython.noop),
        migrations.RunPython(take_as_read, migrations.RunPython.noop),
    ]
