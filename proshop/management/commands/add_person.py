"""Give somebody an account in a shop, or a new password."""

import secrets
from typing import Any

from django import forms
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction

from proshop.accounts import second
from proshop.models import Membership, Shop


def _is_text(value: str) -> None:
    """A terminal may hand over bytes that are no text, which no database takes."""
    try:
        value.encode()
    except UnicodeEncodeError:
        raise ValidationError("This is no text: type it in the terminal’s own letters.") from None


class Told(forms.Form):
    """What is told on the command line."""

    username = forms.CharField(max_length=150, validators=[User.username_validator])
    shop = forms.CharField(max_length=80, validators=[_is_text])
    name = forms.CharField(max_length=150, required=False, validators=[_is_text])


class Command(BaseCommand):
    help = (
        "Give somebody an account in a shop and print a password for it. Makes the shop if there "
        "is none of that name. For somebody already there: a new password, and the role given. "
        "Owners may be given further shops."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("username")
        parser.add_argument("--shop", required=True, help="name of the shop")
        parser.add_argument("--role", choices=Membership.Role.values, default="staff")
        parser.add_argument(
            "--forget-second", action="store_true", help="switch off a second step to sign in"
        )
        parser.add_argument("--name", default="", help="as colleagues read it in the history")

    @transaction.atomic
    def handle(
        self,
        *args: Any,
        username: str,
        shop: str,
        role: str,
        name: str,
        forget_second: bool,
        **options: Any,
    ) -> None:
        told = Told({"username": username, "shop": shop, "name": name})
        for field, wrong in told.errors.items():
            raise CommandError(f"{field}: {wrong[0]}")
        username, shop, name = (told.cleaned_data[field] for field in ("username", "shop", "name"))
        house = Shop.objects.filter(name=shop).first() or Shop.objects.create(name=shop)
        user, _ = User.objects.get_or_create(username=username)
        elsewhere = Membership.objects.filter(user=user).exclude(shop=house)
        owner = Membership.Role.OWNER
        if role != owner or elsewhere.exclude(role=owner).exists():
            for known in elsewhere:
                raise CommandError(
                    f"{username} already works at {known.shop}. Choose another name; only owners "
                    "can have several shops (--role owner, in each)."
                )
        if forget_second:
            second.switch_off(user=user)
        password = secrets.token_urlsafe(12)
        user.set_password(password)
        if name:
            user.first_name = name
        user.save()
        Membership.objects.update_or_create(user=user, shop=house, defaults={"role": role})
        self.stdout.write(f"{username} ({role}, {house}) signs in with: {password}")
