from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("rentals", "0055_table_marks"),
    ]

    operations = [
        migrations.AddIndex(
            model_name="loan",
            index=models.Index(
                fields=["stage", "enrolment", "kit"], name="loan_of_stage_by_student"
            ),
        ),
    ]
