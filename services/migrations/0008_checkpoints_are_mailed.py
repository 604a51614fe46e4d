"""The outbox may hold the mail with a checkpoint of the journal."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("services", "0007_plannings"),
        ("treatments", "0010_the_journal"),
    ]

    operations = [
        migrations.AlterField(
            model_name="outbox",
            name="kind",
            field=models.CharField(
                choices=[
                    ("client summary", "mail a summary to the client"),
                    ("crew sheet", "mail the visit sheets to the crew"),
                    ("notice", "mail a notice before a visit"),
                    ("checkpoint", "mail a checkpoint of the journal to the owner"),
                ],
                max_length=16,
                verbose_name="kind",
            ),
        ),
    ]
