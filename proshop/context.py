"""What every page knows: the shop and the way about the house."""

from typing import Any, NamedTuple

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest
from django.urls import reverse

from . import at_hand, requests
from .models import Membership


class Place(NamedTuple):
    """One entry of the navigation."""

    label: str
    short: str
    url: str
    icon: str
    here: bool


# URL name, label, its short form for phones, icon, and how the paths that belong to it begin.
PLACES = [
    (
        "customer-list",
        "Customers",
        "Customers",
        "people",
        ("/customers/", "/fittings/", "/bag/", "/rankings/", "/plans/", "/merges/"),
    ),
    ("tickets", "Tickets", "Tickets", "ticket", ("/tickets/", "/prices/")),
    ("shelf", "Shelf", "Shelf", "shelf", ("/shelf/",)),
    ("catalogue", "Catalogue", "Catalogue", "catalogue", ("/catalogue/", "/models/")),
    ("houses", "Houses & conditions", "Houses", "lane", ("/houses/", "/conditions/")),
    ("glossary", "Glossary", "Glossary", "book", ("/glossary/",)),
]


def places(path: str) -> list[Place]:
    """The navigation as seen from `path`."""
    return [
        Place(label, short, reverse(name), icon, path.startswith(beginnings))
        for name, label, short, icon, beginnings in PLACES
    ]


def house(request: HttpRequest) -> dict[str, Any]:
    """The shop of the signed-in person, the navigation, and the request's number."""
    user, told = getattr(request, "user", None), {"request_number": requests.number.get()}
    if user is None or not user.is_authenticated:
        return {"shop": None, "places": [], "is_owner": False, "shops": [], **told}
    try:
        found = at_hand.places_of(request)
    except PermissionDenied:
        found = at_hand.Places((), None)
    now = found.now
    return {
        "shop": now.shop if now else None,
        "places": places(request.path) if now else [],
        "is_owner": now is not None and now.role == Membership.Role.OWNER,
        # Only where there is a choice.
        "shops": found.all if found.is_choice else [],
        **told,
    }
