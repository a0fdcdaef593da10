"""One column map for each layout of files, instead of one for a kit type."""

from __future__ import annotations

from django.db import migrations, models


def as_lists(apps, schema_editor) -> None:
    """A plan's one map becomes a list of it; none becomes an empty list."""
    for plan in apps.get_model("readiness", "BenchPlan").objects.all():
        kept = plan.column_maps
        if not isinstance(kept, list):
            plan.column_maps = [kept] if kept else []
            plan.save(update_fields=["column_maps"])


class Migration(migrations.Migration):

    dependencies = [
        ("readiness", "0006_amplifiers_high_pass"),
    ]

    operations = [
        migrations.RenameField("benchplan", "column_map", "column_maps"),
        migrations.RunPython(as_lists, migrations.RunPython.noop),
        migrations.AlterField(
            model_name="benchplan",
            name="column_maps",
            field=models.JSONField(blank=True, default=list),
        ),
    ]
