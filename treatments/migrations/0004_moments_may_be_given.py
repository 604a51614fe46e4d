import django.utils.timezone
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("treatments", "0003_product_plants_excluded")]

    operations = [
        migrations.AlterField(
            model_name="acceptedwarning",
            name="accepted_at",
            field=models.DateTimeField(
                default=django.utils.timezone.now, editable=False, verbose_name="accepted"
            ),
        ),
        migrations.AlterField(
            model_name="applicationrecord",
            name="received_at",
            field=models.DateTimeField(
                default=django.utils.timezone.now, editable=False, verbose_name="received"
            ),
        ),
        migrations.AlterField(
            model_name="rotation",
            name="composed_at",
            field=models.DateTimeField(
                default=django.utils.timezone.now, editable=False, verbose_name="composed"
            ),
        ),
        migrations.AlterField(
            model_name="stockentry",
            name="entered_at",
            field=models.DateTimeField(
                default=django.utils.timezone.now, editable=False, verbose_name="entered"
            ),
        ),
    ]
