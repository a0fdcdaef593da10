"""The words of what is on file already."""

from itertools import islice

from django.db import migrations

from rentals.plain_words import words_of

AT_ONCE = 2000
FOUND_BY = (
    ("Student", "student_id", ("name", "email", "city"), False),
    ("CourseRun", "run_id", ("name",), False),
    ("Part", "part_id", ("serial",), True),
    ("Loan", "loan_id", ("tracking_number", "return_tracking_number"), True),
)


def fill(apps, schema_editor):
    word_table = apps.get_model("rentals", "SearchWord").objects
    for name, column, texts, joined in FOUND_BY:
        rows = apps.get_model("rentals", name).objects.order_by("pk")
        facts = rows.values_list("pk", *texts).iterator(chunk_size=AT_ONCE)
        while few := list(islice(facts, AT_ONCE)):
            word_table.bulk_create(
                [
                    word_table.model(word=word, **{column: number})
                    for number, *row in few
                    for word in sorted(words_of(row, joined=joined))
                ],
                batch_size=AT_ONCE,
            )


class Migration(migrations.Migration):
    dependencies = [("rentals", "0049_search_words")]

    operations = [migrations.RunPython(fill, migrations.RunPython.noop, elidable=True)]
