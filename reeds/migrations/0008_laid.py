from django.db import migrations, models


class Migration(migrations.Migration):
    """Where on its card a reed lies that nobody measured yet; photos looked at before keep none."""

    dependencies = [("reeds", "0007_cane_and_knife")]

    operations = [
        migrations.AddField(model_name="photomeasuring", name="laid", field=models.JSONField(null=True)),
    ]
