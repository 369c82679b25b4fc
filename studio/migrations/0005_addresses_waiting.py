"""No address had been shown to be anybody's: each waits now until the link sent there is opened."""

from typing import Any

from django.db import migrations, models
from django.db.models import F


def let_wait(apps: Any, schema_editor: Any) -> None:
    apps.get_model("studio", "Person").objects.exclude(email="").update(email_wanted=F("email"), email="")
    # allauth kept each address a person ever had, and let them in by it
    apps.get_model("account", "EmailAddress").objects.all().delete()


def count_again(apps: Any, schema_editor: Any) -> None:
    waiting = apps.get_model("studio", "Person").objects.exclude(email_wanted="")
    waiting.filter(email="").update(email=F("email_wanted"))


class Migration(migrations.Migration):
    dependencies = [
        ("account", "0009_emailaddress_unique_primary_email"),
        ("studio", "0004_journal"),
    ]

    operations = [
        migrations.AddField(
            model_name="person",
            name="email_wanted",
            field=models.EmailField(blank=True, editable=False, max_length=254),
        ),
        migrations.RunPython(let_wait, count_again),
    ]
