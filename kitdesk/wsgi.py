"""Entry point for WSGI servers: ``kitdesk.wsgi:application``."""

import os

from django.conf import settings
from django.core.wsgi import get_wsgi_application

from kitdesk.at_work import say_at_work
from kitdesk.behind_proxy import BehindProxy
from kitdesk.private_files import write_for_oneself_only
from kitdesk.server_log import mask_server_log
from kitdesk.warming import start_warming

write_for_oneself_only()
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kitdesk.settings")
application = BehindProxy(get_wsgi_application(), settings.TRUSTED_PROXY)
mask_server_log()
say_at_work()
start_warming()
