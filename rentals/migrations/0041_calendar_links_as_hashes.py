"""Of a calendar's private address only what it is known again by: those given out go on working."""

from __future__ import annotations

from typing import Any

from django.db import migrations

from rentals.student_tokens import token_digest


def hash_tokens(apps: Any, schema_editor: Any) -> None:
    """Put its SHA-256 in place of every token."""
    for link in apps.get_model("rentals", "CalendarLink").objects.all():
        link.token_sha256 = token_digest(link.token_sha256)
        link.save(update_fields=["token_sha256"])


class Migration(migrations.Migration):
    dependencies = [("rentals", "0040_roles_of_accounts")]

    operations = [
        migrations.RenameField("calendarlink", "token", "token_sha256"),
        # There is no way back from a hash: an older Kitdesk would need new addresses.
        migrations.RunPython(hash_tokens, migrations.RunPython.noop, elidable=True),
    ]
