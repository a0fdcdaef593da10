"""Entry point for WSGI servers: ``kitdesk.wsgi:application``."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kitdesk.settings")
application = get_wsgi_application()
