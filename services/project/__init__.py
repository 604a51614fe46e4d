"""The Django project: settings, addresses, errors and the Celery app."""

from services.project.celery import app as celery_app

__all__ = ["celery_app"]
