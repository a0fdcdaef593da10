"""When the days of a run changed last."""

import django.utils.timezone
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("rentals", "0015_facts_of_a_mail"),
    ]

    operations = [
        migrations.AddField(
            model_name="courserun",
            name="changed_at",
            field=models.DateTimeField(auto_now=True, default=django.utils.timezone.now),
            preserve_default=False,
        ),
    ]
