"""A label may give its own days between oil and sulfur."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("treatments", "0001_first_book")]

    operations = [
        migrations.AddField(
            model_name="product",
            name="separation_days",
            field=models.PositiveSmallIntegerField(
                blank=True,
                help_text="Where the label gives its own figure.",
                null=True,
                verbose_name="days between oil and sulfur",
            ),
        ),
    ]
