"""Signs are confirmed against the code before they are printed."""

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    """Adds who compared which sign with the code, and when."""

    dependencies = [
        ("treatments", "0010_the_journal"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="SignConfirmed",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("jurisdiction", models.CharField(max_length=8, verbose_name="jurisdiction")),
                (
                    "fingerprint",
                    models.CharField(
                        help_text="SHA-256 of the sign, in hex.",
                        max_length=64,
                        verbose_name="fingerprint",
                    ),
                ),
                (
                    "confirmed_at",
                    models.DateTimeField(
                        default=django.utils.timezone.now, editable=False, verbose_name="confirmed"
                    ),
                ),
                (
                    "confirmed_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="signs_confirmed",
                        to=settings.AUTH_USER_MODEL,
                        verbose_name="confirmed by",
                    ),
                ),
            ],
            options={
                "verbose_name": "confirmed sign",
                "verbose_name_plural": "confirmed signs",
                "ordering": ["jurisdiction", "pk"],
                "constraints": [
                    models.UniqueConstraint(
                        models.F("jurisdiction"),
                        models.F("fingerprint"),
                        name="sign_confirmed_once_a_jurisdiction_and_design",
                    )
                ],
            },
        ),
    ]
