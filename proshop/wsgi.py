"""Entry point for a WSGI server: ready to compute before it takes its first request."""

import os

from django.core.management import call_command
from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "proshop.settings")

application = get_wsgi_application()
# Kernels are loaded, or compiled after an update, while nobody waits. With gunicorn's --preload it
# is done once for all its workers.
call_command("warm", verbosity=0)
