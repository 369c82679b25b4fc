"""When each field of a draft was typed, in place of which phone saved last."""

from typing import Any

from django.db import migrations, models


def begin_anew(apps: Any, schema_editor: Any) -> None:  # noqa: ANN401  # Django's own types are not public
    """Numbers of saves tell nothing of times."""
    apps.get_model("lessons", "Submission").objects.update(typed_at={})


class Migration(migrations.Migration):
    dependencies = [("lessons", "0014_erased")]

    operations = [
        migrations.RenameField("submission", "saves", "typed_at"),
        migrations.AlterField(
            "submission",
            "typed_at",
            models.JSONField(blank=True, default=dict, help_text="When each field was typed last."),
        ),
        migrations.RunPython(begin_anew, migrations.RunPython.noop, elidable=True),
    ]
