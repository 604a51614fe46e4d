"""Who and where: the app's own name."""

from django.apps import AppConfig


class ClientsConfig(AppConfig):
    """Who and where."""

    name = "clients"
