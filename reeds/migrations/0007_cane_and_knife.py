"""How many pieces a lot of cane had, and when a knife was sharpened last."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('reeds', '0006_tool_reading'),
        ('studio', '0001_initial'),
    ]

    operations = [
        migrations.AddField(
            model_name='canelot',
            name='lost',
            field=models.PositiveSmallIntegerField(default=0, verbose_name='pieces lost'),
        ),
        migrations.AddField(
            model_name='canelot',
            name='pieces',
            field=models.PositiveSmallIntegerField(blank=True, null=True, verbose_name='pieces bought'),
        ),
        migrations.CreateModel(
            name='Knife',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('sharpened_on', models.DateField(verbose_name='last sharpened')),
                ('owner', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='knife', to='studio.member')),
                ('studio', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='studio.studio')),
            ],
            options={
                'abstract': False,
            },
        ),
    ]
