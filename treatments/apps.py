"""What is applied, and whether it may be: the app's own name."""

from django.apps import AppConfig


class TreatmentsConfig(AppConfig):
    """What is applied, and whether it may be."""

    name = "treatments"
