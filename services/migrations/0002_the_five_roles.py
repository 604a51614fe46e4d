"""The five roles, each a group of the same name."""

from django.db import migrations

ROLES = ["owner", "office", "applicator", "technician", "inspector"]


def add_roles(apps, schema_editor):
    group = apps.get_model("auth", "Group")
    for name in ROLES:
        group.objects.using(schema_editor.connection.alias).get_or_create(name=name)


class Migration(migrations.Migration):
    dependencies = [
        ("services", "0001_first_book"),
        ("auth", "0012_alter_user_first_name_max_length"),
    ]

    operations = [migrations.RunPython(add_roles, migrations.RunPython.noop)]
