"""The app and the steps it adds to a customer's page."""

from __future__ import annotations

from django.apps import AppConfig


class ArsenalConfig(AppConfig):
    name = "arsenal"
    label = "arsenal"
    verbose_name = "Balls and lanes"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        # Models can be imported from here on, not when this module is read.
        from arsenal import health  # noqa: F401 - registers its look
        from arsenal.steps import register_steps

        register_steps()
