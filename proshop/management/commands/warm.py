"""Compile the engine's kernels, or load them if they were compiled before."""

import time
from typing import Any

from django.core.management.base import BaseCommand


class Command(BaseCommand):
    help = "Warm the engine, so that the first person to ask doesn't wait for the compiler."

    def handle(self, *args: Any, **options: Any) -> None:
        import physics

        self.stdout.write("Warming the engine… (the first time it is compiled) ", ending="")
        self.stdout.flush()
        start = time.monotonic()
        physics.warm()
        self.stdout.write(f"ready in {time.monotonic() - start:.1f} s.")
