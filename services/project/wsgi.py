"""The entry for WSGI servers: `gunicorn services.project.wsgi`."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "services.project.settings")

application = get_wsgi_application()
