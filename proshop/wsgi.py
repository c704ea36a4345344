"""Entry point for a WSGI server: ready to compute before it takes its first request."""

import gc
import os

from django.core.management import call_command
from django.core.wsgi import get_wsgi_application
from django.urls import reverse

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "proshop.settings")

application = get_wsgi_application()
# Kernels are loaded, or compiled after an update, and the code of every page is imported, while
# nobody waits. With gunicorn's --preload it is done once for all its workers.
call_command("warm", verbosity=0)
reverse("home")
# All of that stays. Python's collector would walk through it, a third of a million objects, every
# now and then in the middle of somebody's page, and take a tenth of a second or more.
gc.collect()
gc.freeze()
