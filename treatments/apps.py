"""What is applied, and whether it may be: the app's own name, and the guards of its records."""

from django.apps import AppConfig
from django.core.signals import request_started
from django.db.models.signals import post_migrate
from django.utils.translation import gettext_lazy as _


class TreatmentsConfig(AppConfig):
    """What is applied, and whether it may be."""

    name = "treatments"
    verbose_name = _("What is applied")

    def ready(self):
        from treatments.chosen import forget
        from treatments.guarding import install_guards

        post_migrate.connect(install_guards, sender=self)
        request_started.connect(forget)
