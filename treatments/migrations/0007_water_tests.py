"""What a part of a planting took of water, for the next mix."""

from decimal import Decimal

import django.core.validators
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("clients", "0001_first_book"),
        ("treatments", "0006_calibration_methods"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="WaterTest",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("tested_on", models.DateField(verbose_name="tested")),
                (
                    "strip_ft",
                    models.DecimalField(
                        blank=True,
                        decimal_places=1,
                        help_text="Of a hedge, bed or row: 20 to 25 ft, on every face that is sprayed.",
                        max_digits=6,
                        null=True,
                        validators=[django.core.validators.MinValueValidator(Decimal("0.1"))],
                        verbose_name="length wetted (ft)",
                    ),
                ),
                (
                    "plants_tested",
                    models.PositiveIntegerField(
                        blank=True,
                        help_text="Instead of a length: one typical plant, or several.",
                        null=True,
                        validators=[django.core.validators.MinValueValidator(1)],
                        verbose_name="plants wetted",
                    ),
                ),
                (
                    "water_amount",
                    models.DecimalField(
                        decimal_places=3,
                        help_text="What fills the tank up again, or was caught for as long.",
                        max_digits=8,
                        validators=[django.core.validators.MinValueValidator(Decimal("0.001"))],
                        verbose_name="water used",
                    ),
                ),
                (
                    "water_unit",
                    models.CharField(
                        choices=[("fl oz", "fl oz"), ("qt", "qt"), ("gal", "gal"), ("L", "L")],
                        default="gal",
                        max_length=5,
                        verbose_name="measured in",
                    ),
                ),
                ("note", models.CharField(blank=True, max_length=200, verbose_name="note")),
                (
                    "planting",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="water_tests",
                        to="clients.planting",
                        verbose_name="planting",
                    ),
                ),
                (
                    "sprayer",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="water_tests",
                        to="treatments.sprayer",
                        verbose_name="sprayer",
                    ),
                ),
                (
                    "tested_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="water_tests",
                        to=settings.AUTH_USER_MODEL,
                        verbose_name="by",
                    ),
                ),
            ],
            options={
                "verbose_name": "water test",
                "verbose_name_plural": "water tests",
                "ordering": ["planting", "-tested_on", "-pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("plants_tested__isnull", True),
                                ("strip_ft__gt", 0),
                                ("strip_ft__isnull", False),
                            ),
                            models.Q(
                                ("plants_tested__gt", 0),
                                ("plants_tested__isnull", False),
                                ("strip_ft__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="water_test_on_a_strip_or_on_plants",
                        violation_error_message="Give the length that was wetted, or the plants.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("water_amount__gt", 0)),
                        name="water_test_used_water",
                        violation_error_message="A test used some water.",
                    ),
                ],
            },
        ),
    ]
