"""Who and where: the app's own name."""

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class ClientsConfig(AppConfig):
    """Who and where."""

    name = "clients"
    verbose_name = _("Clients and their properties")
