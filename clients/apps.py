"""Who and where: the app's own name."""

from django.apps import AppConfig
from django.contrib.auth.signals import user_logged_in
from django.utils.translation import gettext_lazy as _


class ClientsConfig(AppConfig):
    """Who and where."""

    name = "clients"
    verbose_name = _("Clients and their properties")

    def ready(self):
        from clients.sessions import note_beginning

        user_logged_in.connect(note_beginning)
