"""The Celery app; a worker starts with `celery -A services.project worker`."""

import os

from celery import Celery
from celery.signals import setup_logging

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "services.project.settings")

app = Celery("duskbook")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()


@setup_logging.connect
def keep_the_projects_logging(**_kwargs):
    """Leave logging as settings made it: Celery sets up its own only when nobody listens here."""
