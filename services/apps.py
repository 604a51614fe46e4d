"""When and by whom: the app's own name, and what a technician may reach."""

from django.apps import AppConfig


class ServicesConfig(AppConfig):
    """When and by whom."""

    name = "services"

    def ready(self):
        from clients.access import Reach
        from services.reach import properties_of_technician

        Reach.properties_of = staticmethod(properties_of_technician)
