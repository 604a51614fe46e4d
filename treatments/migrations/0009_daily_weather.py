"""Daily temperatures, and the planting that a count is held against."""

from decimal import Decimal

import django.core.validators
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("clients", "0001_first_book"),
        ("treatments", "0008_leftover_notes"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="DailyWeather",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("day", models.DateField(verbose_name="day")),
                (
                    "minimum_f",
                    models.DecimalField(
                        decimal_places=1,
                        max_digits=4,
                        validators=[
                            django.core.validators.MinValueValidator(Decimal("-76")),
                            django.core.validators.MaxValueValidator(Decimal("140")),
                        ],
                        verbose_name="lowest",
                    ),
                ),
                (
                    "maximum_f",
                    models.DecimalField(
                        decimal_places=1,
                        max_digits=4,
                        validators=[
                            django.core.validators.MinValueValidator(Decimal("-76")),
                            django.core.validators.MaxValueValidator(Decimal("140")),
                        ],
                        verbose_name="highest",
                    ),
                ),
                (
                    "source",
                    models.CharField(
                        choices=[
                            ("measured", "measured"),
                            ("filled", "filled in"),
                            ("forecast", "forecast"),
                        ],
                        default="measured",
                        max_length=8,
                        verbose_name="how it is known",
                    ),
                ),
            ],
            options={
                "verbose_name": "day's temperatures",
                "verbose_name_plural": "days' temperatures",
                "ordering": ["station", "day"],
            },
        ),
        migrations.CreateModel(
            name="WeatherStation",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=100, unique=True, verbose_name="name")),
                (
                    "latitude",
                    models.DecimalField(
                        decimal_places=6,
                        help_text="Degrees north, WGS 84.",
                        max_digits=8,
                        validators=[
                            django.core.validators.MinValueValidator(Decimal("-90")),
                            django.core.validators.MaxValueValidator(Decimal("90")),
                        ],
                        verbose_name="latitude",
                    ),
                ),
                (
                    "longitude",
                    models.DecimalField(
                        decimal_places=6,
                        help_text="Degrees east, WGS 84; negative in the Americas.",
                        max_digits=9,
                        validators=[
                            django.core.validators.MinValueValidator(Decimal("-180")),
                            django.core.validators.MaxValueValidator(Decimal("180")),
                        ],
                        verbose_name="longitude",
                    ),
                ),
                (
                    "note",
                    models.CharField(
                        blank=True,
                        help_text="Such as who measures there, and how high above the ground.",
                        max_length=200,
                        verbose_name="note",
                    ),
                ),
            ],
            options={
                "verbose_name": "weather station",
                "verbose_name_plural": "weather stations",
                "ordering": ["name"],
            },
        ),
        migrations.AddField(
            model_name="scoutingcount",
            name="untreated_reference",
            field=models.ForeignKey(
                blank=True,
                help_text="A planting with the same pest that is counted on the same days and not sprayed; without one nobody knows what the weather did.",
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="held_against",
                to="clients.planting",
                verbose_name="held against, left untreated",
            ),
        ),
        migrations.AddConstraint(
            model_name="scoutingcount",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("untreated_reference__isnull", True),
                    models.Q(("untreated_reference", models.F("planting")), _negated=True),
                    _connector="OR",
                ),
                name="count_is_held_against_another_planting",
                violation_error_message="A planting is not held against itself.",
            ),
        ),
        migrations.AddField(
            model_name="dailyweather",
            name="station",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE,
                related_name="days",
                to="treatments.weatherstation",
                verbose_name="weather station",
            ),
        ),
        migrations.AddConstraint(
            model_name="dailyweather",
            constraint=models.UniqueConstraint(
                models.F("station"), models.F("day"), name="daily_weather_once_a_day"
            ),
        ),
        migrations.AddConstraint(
            model_name="dailyweather",
            constraint=models.CheckConstraint(
                condition=models.Q(("maximum_f__gte", models.F("minimum_f"))),
                name="daily_weather_highest_above_lowest",
                violation_error_message="The highest does not lie below the lowest.",
            ),
        ),
    ]
