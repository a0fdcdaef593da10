"""The roles beside the owner's; whoever has worked here goes on as packer and at the bench."""

from django.conf import settings
from django.db import migrations


def give_roles(apps, schema_editor):
    groups = apps.get_model("auth", "Group").objects
    held = [groups.get_or_create(name=name)[0] for name in ("packer", "bench")]
    groups.get_or_create(name="reader")
    app, model = settings.AUTH_USER_MODEL.split(".")
    for account in apps.get_model(app, model).objects.filter(is_superuser=False, groups=None):
        account.groups.add(*held)


class Migration(migrations.Migration):
    dependencies = [
        ("rentals", "0039_parts_in_place_of_faulty_ones"),
        ("auth", "0012_alter_user_first_name_max_length"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [migrations.RunPython(give_roles, migrations.RunPython.noop)]
