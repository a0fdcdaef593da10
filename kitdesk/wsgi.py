"""Entry point for WSGI servers: ``kitdesk.wsgi:application``."""

import os

from django.core.wsgi import get_wsgi_application

from kitdesk.private_files import write_for_oneself_only

write_for_oneself_only()
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kitdesk.settings")
application = get_wsgi_application()
