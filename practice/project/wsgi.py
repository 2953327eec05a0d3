"""The WSGI application, for a server."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "practice.project.settings")
application = get_wsgi_application()
