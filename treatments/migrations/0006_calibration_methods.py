"""A test area and metric measures are methods of calibration too."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("treatments", "0005_spray_has_a_rate")]

    operations = [
        migrations.AlterField(
            model_name="calibration",
            name="method",
            field=models.CharField(
                choices=[
                    ("1/128 acre", "1/128 acre"),
                    ("timed 1,000 sq ft", "timed 1,000 sq ft"),
                    ("test area", "test area, scaled up"),
                    ("refill", "refill"),
                    ("flow and speed", "flow and speed"),
                    ("metric", "flow and speed, metric"),
                    ("water test", "water test on the planting"),
                ],
                max_length=20,
                verbose_name="method",
            ),
        ),
    ]
