"""``manage.py demo``: load the demo shop, or put it back to what it was."""

from __future__ import annotations

import os
import secrets
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from arsenal.demo.load import STAFF, Loaded, NameTaken, load
from arsenal.models import BallModel, Condition, StockBall
from bowlers.models import Bowler
from proshop.models import Membership, Shop

# Letters and figures that nobody mistakes for one another when copying from a screen.
SIGNS = "abcdefghjkmnpqrstuvwxyz23456789"


def readable_password() -> str:
    """Fifteen random signs in threes of five: as good as 74 bits, and easily copied."""
    return "-".join("".join(secrets.choice(SIGNS) for _ in range(5)) for _ in range(3))


class Command(BaseCommand):
    help = (
        "Load the demo shop, or put it back to what it was: changes made in it are lost. Other "
        "shops are left alone. Accounts keep their passwords unless new ones are asked for."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--if-empty", action="store_true", help="do nothing if there is any shop already"
        )
        parser.add_argument(
            "--new-passwords", action="store_true", help="give the demo accounts new passwords"
        )

    def handle(
        self, *args: Any, if_empty: bool, new_passwords: bool, verbosity: int, **options: Any
    ) -> None:
        if if_empty and Shop.objects.exists():
            self._say_how_to_get_in()
            return
        try:
            loaded = load(make_password=readable_password, new_passwords=new_passwords)
        except NameTaken as taken:
            raise CommandError(
                f"The account {taken} works in another shop, so the demo can't use that name. "
                "Rename the account or remove it, then load the demo again. Nothing was changed."
            ) from None
        if verbosity:
            self._say_what_is_there(loaded)

    def _say_what_is_there(self, loaded: Loaded) -> None:
        shop = loaded.shop
        counts = (
            (Bowler.objects.for_shop(shop).count(), "customers"),
            (BallModel.objects.for_shop(shop).count(), "ball models"),
            (StockBall.objects.for_shop(shop).on_shelf().count(), "balls on the shelf"),
            (Condition.objects.for_shop(shop).count(), "conditions"),
        )
        self.stdout.write(
            f"Demo loaded: {shop} with " + ", ".join(f"{n} {what}" for n, what in counts) + "."
        )
        self.stdout.write(f"Sign in at {_address()} once the site runs (make run):")
        for username, _, _, role in STAFF:
            password = loaded.passwords.get(username, "(keeps the password it has)")
            self.stdout.write(f"  {username:13}  {password:27}  {Membership.Role(role).label}")
        if len(loaded.passwords) < len(STAFF):
            self.stdout.write("Forgotten? manage.py demo --new-passwords makes new ones.")

    def _say_how_to_get_in(self) -> None:
        """On a later start: who the demo's accounts are, and the remedy for a lost password."""
        demo = Shop.objects.filter(is_demo=True).first()
        if demo is None:
            return
        self.stdout.write(
            f"Sign in to the demo as {STAFF[0][0]} with the password printed when it was loaded. "
            f'Forgotten? .venv/bin/python manage.py add_person {STAFF[0][0]} --shop "{demo}" '
            "--role owner prints a new one."
        )


def _address() -> str:
    return f"http://127.0.0.1:{os.environ.get('PORT') or 8000}/sign-in/"
