from django.db import migrations


class Migration(migrations.Migration):
    """The day on which what was left was paid stands in the ledger."""

    dependencies = [("rentals", "0030_ledger_of_loans_of_today")]
    operations = [migrations.RemoveField(model_name="loan", name="balance_paid_on")]
