"""What was left over, and what became of it."""

from decimal import Decimal

import django.core.validators
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("treatments", "0007_water_tests"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="LeftoverNote",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[("mix", "mix"), ("tank rinse", "rinse of a tank")],
                        max_length=12,
                        verbose_name="what was left",
                    ),
                ),
                (
                    "gallons",
                    models.DecimalField(
                        decimal_places=2,
                        max_digits=6,
                        validators=[django.core.validators.MinValueValidator(Decimal("0.01"))],
                        verbose_name="how much (gal)",
                    ),
                ),
                (
                    "done",
                    models.CharField(
                        choices=[
                            ("sprayed on site", "sprayed on a site its label names, within rate"),
                            ("sprayed over", "sprayed out over what was treated, within rate"),
                            ("handed in", "handed in for disposal as the state asks"),
                        ],
                        max_length=16,
                        verbose_name="what became of it",
                    ),
                ),
                (
                    "note",
                    models.CharField(
                        help_text="The site it was sprayed on, or the place that took it.",
                        max_length=300,
                        verbose_name="where, and by whose word",
                    ),
                ),
                ("happened_on", models.DateField(verbose_name="on")),
                (
                    "noted_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="leftover_notes",
                        to=settings.AUTH_USER_MODEL,
                        verbose_name="noted by",
                    ),
                ),
                (
                    "product",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="leftover_notes",
                        to="treatments.product",
                        verbose_name="product",
                    ),
                ),
            ],
            options={
                "verbose_name": "note of a leftover",
                "verbose_name_plural": "notes of leftovers",
                "ordering": ["-happened_on", "-pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("gallons__gt", 0)),
                        name="leftover_is_some",
                        violation_error_message="Note how much was left.",
                    )
                ],
            },
        ),
    ]
