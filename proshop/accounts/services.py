"""Who works in which shop, changed by its owners."""

from __future__ import annotations

from collections.abc import Iterable

from django.contrib.auth.models import User
from django.contrib.auth.tokens import default_token_generator
from django.db import transaction
from django.urls import reverse
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode

from proshop.models import Membership, Shop


def has_all_shops_of(owner: User, person: User) -> bool:
    """Whether a person works in the owner's shops only. Whoever gives them a new way in could use
    it himself, and must not reach another owner's shop by it."""
    owned = Membership.objects.filter(user=owner, role=Membership.Role.OWNER).values("shop")
    return not Membership.objects.filter(user=person).exclude(shop__in=owned).exists()


@transaction.atomic
def add_person(*, shop: Shop, username: str, first_name: str, last_name: str, role: str) -> User:
    """An account without a password: its owner chooses one by a link."""
    user = User(username=username, first_name=first_name, last_name=last_name)
    user.set_unusable_password()
    user.save()
    Membership.objects.create(user=user, shop=shop, role=role)
    return user


def way_in(user: User) -> str:
    """The address at which somebody chooses a password: once, within a day."""
    number = urlsafe_base64_encode(force_bytes(user.pk))
    return reverse("choose-password", args=[number, default_token_generator.make_token(user)])


@transaction.atomic
def put(*, user: User, role: str, shops: Iterable[Shop], among: Iterable[Shop]) -> None:
    """A person's role and shops among those the owner has; what they are elsewhere stays."""
    wanted = {shop.pk for shop in shops}
    places = Membership.objects.select_for_update().filter(user=user, shop__in=list(among))
    places.exclude(shop__in=wanted).delete()
    # One by one: no two places of staff may stand even for a moment.
    there = set(places.values_list("shop_id", flat=True))
    for shop_id in sorted(there):
        places.filter(shop_id=shop_id).update(role=role)
    for shop_id in sorted(wanted - there):
        Membership.objects.create(user=user, shop_id=shop_id, role=role)
