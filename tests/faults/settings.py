"""The site as it is served to people, but for static files, which no test here asks for."""

from proshop.settings import *  # noqa: F403
from proshop.settings import STORAGES

STORAGES = {
    **STORAGES,
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
