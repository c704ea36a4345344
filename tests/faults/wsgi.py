"""The site as it is served to people, but for its engine, which isn't warmed: nothing asked of it
here computes, and who is killed two hundred times starts two hundred times."""

from django.core.wsgi import get_wsgi_application
from django.urls import get_resolver

application = get_wsgi_application()
# Reading the addresses imports every page, once for all processes.
_ = get_resolver().url_patterns
