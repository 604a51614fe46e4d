"""The journal and its checkpoints; records that were kept before it are appended by number."""

import secrets

import django.utils.timezone
from django.db import migrations, models


def append_kept_records(apps, schema_editor):
    """Append the records that are there, in the order of their numbers, as entered now."""
    from treatments.chain import SALT_LENGTH, SYSTEM
    from treatments.recording.entries import NOUN, body_of, kind_of
    from treatments.rules.journal import entry_id_of, write_entry
    from treatments.rules.merkle import Frontier

    record_model = apps.get_model("treatments", "ApplicationRecord")
    entry_model = apps.get_model("treatments", "JournalEntry")
    records = record_model.objects.order_by("number").annotate(wrong=models.F("amends__number"))
    now, tree = django.utils.timezone.now(), Frontier()
    for seq, record in enumerate(records.iterator(chunk_size=500)):
        entry = write_entry(
            seq=seq,
            kind=kind_of(record),
            entry_id=entry_id_of(NOUN, record.number),
            amends=entry_id_of(NOUN, record.wrong) if record.wrong else None,
            actor=SYSTEM,
            recorded_at=now,
            body=body_of(record, record.wrong),
            salt=secrets.token_bytes(SALT_LENGTH),
            peaks=tree.peaks,
        )
        entry_model.objects.create(**entry._asdict())
        tree.add(bytes.fromhex(entry.leaf_hash))


class Migration(migrations.Migration):
    dependencies = [
        ("treatments", "0009_daily_weather"),
    ]

    operations = [
        migrations.CreateModel(
            name="Checkpoint",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "size",
                    models.PositiveBigIntegerField(
                        editable=False, unique=True, verbose_name="entries"
                    ),
                ),
                ("root", models.CharField(editable=False, max_length=64, verbose_name="root")),
                ("text", models.TextField(editable=False, verbose_name="checkpoint")),
                (
                    "made_at",
                    models.DateTimeField(
                        default=django.utils.timezone.now, editable=False, verbose_name="made"
                    ),
                ),
            ],
            options={
                "verbose_name": "checkpoint",
                "verbose_name_plural": "checkpoints",
                "ordering": ["size"],
            },
        ),
        migrations.CreateModel(
            name="JournalEntry",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "seq",
                    models.PositiveBigIntegerField(
                        editable=False, unique=True, verbose_name="place"
                    ),
                ),
                (
                    "entry_id",
                    models.UUIDField(editable=False, unique=True, verbose_name="entry"),
                ),
                ("envelope", models.TextField(editable=False, verbose_name="envelope")),
                ("leaf_hash", models.CharField(editable=False, max_length=64, verbose_name="hash")),
                (
                    "subtree_hash",
                    models.CharField(
                        editable=False, max_length=64, verbose_name="hash of what ends here"
                    ),
                ),
                ("body", models.TextField(editable=False, null=True, verbose_name="body")),
                (
                    "body_sha256",
                    models.CharField(
                        editable=False, max_length=64, verbose_name="digest of the body"
                    ),
                ),
            ],
            options={
                "verbose_name": "journal entry",
                "verbose_name_plural": "journal entries",
                "ordering": ["seq"],
            },
        ),
        migrations.RunPython(append_kept_records, migrations.RunPython.noop),
    ]
