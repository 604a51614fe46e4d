"""A spray without a rate slipped through: a check that comes out NULL passes."""

from django.db import migrations, models

NAME = "rotation_week_spray_has_product_and_rate"


class Migration(migrations.Migration):
    dependencies = [("treatments", "0004_moments_may_be_given")]

    operations = [
        migrations.RemoveConstraint(model_name="rotationweek", name=NAME),
        migrations.AddConstraint(
            model_name="rotationweek",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(
                        ("product__isnull", False),
                        ("rate__gt", 0),
                        ("rate__isnull", False),
                        ("step", "spray"),
                        models.Q(("basis", ""), _negated=True),
                    ),
                    models.Q(
                        models.Q(("step", "spray"), _negated=True), ("product__isnull", True)
                    ),
                    _connector="OR",
                ),
                name=NAME,
                violation_error_message="A spray has a product and a rate; other steps have none.",
            ),
        ),
    ]
