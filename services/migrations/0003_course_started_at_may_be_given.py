import django.utils.timezone
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("services", "0002_the_five_roles")]

    operations = [
        migrations.AlterField(
            model_name="course",
            name="started_at",
            field=models.DateTimeField(
                default=django.utils.timezone.now, editable=False, verbose_name="put on"
            ),
        ),
    ]
