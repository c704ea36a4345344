"""``manage.py doctor``: what is wrong with this installation, and how to mend it."""

import io
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, SystemCheckError

from proshop import health


class Command(BaseCommand):
    help = "Look the installation over. Ends with an error if something keeps people from working."
    # The checks are asked below, where what they find doesn't end the rest.
    requires_system_checks: list[str] = []

    def handle(self, *args: Any, **options: Any) -> None:
        found = [*health.findings(), self._settings()]
        for one in found:
            mark = "well " if one.well else ("WRONG" if one.serious else "look ")
            self.stdout.write(f"{mark}  {one.name}: {one.said}")
            if not one.well and one.remedy:
                self.stdout.write(f"       → {one.remedy}")
        wrong = [one.name for one in found if one.serious and not one.well]
        if wrong:
            raise CommandError(f"Wrong: {', '.join(wrong)}.")

    def _settings(self) -> health.Finding:
        """Django's own checks; those for a server only where the site is served over HTTPS."""
        said = io.StringIO()
        try:
            call_command(
                "check", deploy=settings.HTTPS, fail_level="WARNING", stdout=said, stderr=said
            )
        except SystemCheckError as trouble:
            return health.Finding("settings", False, str(trouble).strip(), "See the hints above.")
        return health.Finding("settings", True, "Django's checks find nothing")
