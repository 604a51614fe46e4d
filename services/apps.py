"""When and by whom: the app's own name."""

from django.apps import AppConfig


class ServicesConfig(AppConfig):
    """When and by whom."""

    name = "services"
