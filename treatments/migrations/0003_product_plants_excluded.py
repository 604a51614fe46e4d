"""A label may forbid plants of a group that it otherwise lists."""

from django.db import migrations

import treatments.models.fields


class Migration(migrations.Migration):
    dependencies = [("treatments", "0002_product_separation_days")]

    operations = [
        migrations.AddField(
            model_name="product",
            name="plants_excluded",
            field=treatments.models.fields.CodeListField(
                blank=True,
                default=list,
                help_text="Common or scientific names.",
                verbose_name="plants the label forbids",
            ),
        ),
    ]
