"""What a studio measures and looks at itself, and the readings of it."""

import django.db.models.deletion
import django.utils.timezone
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('reeds', '0004_playing_life'),
        ('studio', '0001_initial'),
    ]

    operations = [
        migrations.CreateModel(
            name='OwnQuantity',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(editable=False, max_length=40)),
                ('name', models.CharField(max_length=60, verbose_name='name')),
                ('help', models.CharField(blank=True, max_length=200, verbose_name='how it is measured')),
                ('stage', models.CharField(choices=[('cane', 'cane'), ('shaped', 'shaped'), ('tied', 'tied'), ('bound', 'bound'), ('scraped', 'scraped'), ('finishing', 'finishing'), ('playing', 'playing'), ('played_out', 'played out'), ('given_up', 'given up')], max_length=12, verbose_name='stage')),
                ('unit', models.CharField(blank=True, max_length=10, verbose_name='unit')),
                ('low', models.FloatField(blank=True, null=True, verbose_name='never less than')),
                ('high', models.FloatField(blank=True, null=True, verbose_name='never more than')),
                ('method', models.CharField(choices=[('eye', 'by eye or ear'), ('ruler', 'ruler'), ('caliper', 'caliper'), ('dial', 'dial gauge')], max_length=10, verbose_name='measured with')),
                ('u', models.FloatField(blank=True, null=True, verbose_name='doubt of one reading')),
                ('choices', models.JSONField(blank=True, default=list, verbose_name='choices')),
                ('made_at', models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ('retired_at', models.DateTimeField(editable=False, null=True)),
                ('made_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='studio.member')),
                ('studio', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='studio.studio')),
            ],
            options={
                'ordering': ['made_at', 'pk'],
            },
        ),
        migrations.AddField(
            model_name='measurement',
            name='own',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.RESTRICT, related_name='measurements', to='reeds.ownquantity'),
        ),
        migrations.AddConstraint(
            model_name='ownquantity',
            constraint=models.UniqueConstraint(fields=('studio', 'key'), name='own_quantity_key_once_a_studio'),
        ),
        migrations.AddConstraint(
            model_name='ownquantity',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('high__isnull', True), ('low__isnull', True)), ('low__lt', models.F('high')), _connector='OR'), name='own_quantity_bounds_in_order'),
        ),
        migrations.AddConstraint(
            model_name='ownquantity',
            constraint=models.CheckConstraint(condition=models.Q(('u__isnull', True), ('u__gt', 0), _connector='OR'), name='own_quantity_doubt_is_positive'),
        ),
    ]
