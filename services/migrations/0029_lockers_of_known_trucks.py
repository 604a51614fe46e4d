"""Trucks that the book knows are given their lockers."""

from django.db import migrations


def give_lockers(apps, schema_editor):
    """Make a locker for each truck that has none."""
    locker = apps.get_model("treatments", "Locker")
    for truck in apps.get_model("services", "Truck").objects.filter(locker__isnull=True):
        truck.locker = locker.objects.create(name=truck.name)
        truck.save(update_fields=["locker"])


class Migration(migrations.Migration):
    dependencies = [
        ("services", "0028_trucks_have_lockers"),
    ]

    operations = [
        migrations.RunPython(give_lockers, migrations.RunPython.noop),
    ]
