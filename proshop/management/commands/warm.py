"""Compile the engine's kernels, or load them if they were compiled before."""

import time
from typing import Any

from django.core.management.base import BaseCommand
from django.urls import get_resolver


class Command(BaseCommand):
    help = "Warm the engine and the pages, so that the first person to ask waits for neither."

    def handle(self, *args: Any, verbosity: int, **options: Any) -> None:
        import physics

        start = time.monotonic()
        if verbosity:
            self.stdout.write("Warming the engine… (the first time it is compiled) ", ending="")
            self.stdout.flush()
        # Reading the addresses imports every page.
        _ = get_resolver().url_patterns
        physics.warm()
        if verbosity:
            self.stdout.write(f"ready in {time.monotonic() - start:.1f} s.")
