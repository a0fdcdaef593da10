"""The five boxes of a plan become one list of names, so that another bench test needs no column."""

from django.db import migrations, models

import readiness.models.captures
import readiness.models.plans
import readiness.signal.catalogue

BOXES = ("still", "flex", "lift", "ground", "worn")


def to_names(apps, schema_editor):
    """Each plan's ticked boxes as a list of names."""
    plans = apps.get_model("readiness", "BenchPlan").objects.using(schema_editor.connection.alias)
    for plan in plans.all():
        plan.tests = [name for name in BOXES if getattr(plan, name)]
        plan.save(update_fields=["tests"])


def to_boxes(apps, schema_editor):
    """The way back; a plan that asks only for tests without a box asks for `still` then."""
    plans = apps.get_model("readiness", "BenchPlan").objects.using(schema_editor.connection.alias)
    for plan in plans.all():
        names = set(plan.tests) & set(BOXES) or {"still"}
        for name in BOXES:
            setattr(plan, name, name in names)
        plan.save(update_fields=BOXES)


class Migration(migrations.Migration):
    dependencies = [("readiness", "0002_warnings")]

    operations = [
        migrations.AddField(
            model_name="benchplan",
            name="tests",
            field=models.JSONField(
                default=readiness.signal.catalogue.usual_plan,
                help_text="Names of the tests a kit must pass.",
                validators=[readiness.models.plans.check_tests],
            ),
        ),
        migrations.RunPython(to_names, to_boxes),
        migrations.RemoveConstraint(model_name="benchplan", name="plan_asks_for_a_test"),
        *(migrations.RemoveField(model_name="benchplan", name=name) for name in BOXES),
        migrations.AddConstraint(
            model_name="benchplan",
            constraint=models.CheckConstraint(
                condition=~models.Q(tests=[]), name="plan_asks_for_a_test"
            ),
        ),
        migrations.AlterField(
            model_name="capture",
            name="test",
            field=models.CharField(
                blank=True, choices=readiness.models.captures.test_choices, max_length=20
            ),
        ),
    ]
