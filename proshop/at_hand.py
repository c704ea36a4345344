"""Which shop somebody works in just now: the one place that decides it.

Staff have one shop, owners one or several and a switch between them. A page acts on the shop it was
made for, whatever was switched to in another window since: its forms and its small requests say
which (`form_shop`, `X-Shop`); otherwise it is the shop switched to last.
"""

from __future__ import annotations

from contextvars import ContextVar
from dataclasses import dataclass

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest

from proshop.models import Membership

KEY, FIELD, HEADER = "shop", "form_shop", "X-Shop"
# The shop a page is being made for, where there is a choice: its forms say it.
made_for: ContextVar[int | None] = ContextVar("shop_made_for", default=None)


@dataclass(frozen=True)
class Places:
    """Everywhere somebody works, by name, and where they are just now."""

    all: tuple[Membership, ...]
    now: Membership | None

    @property
    def is_choice(self) -> bool:
        return len(self.all) > 1


def places_of(request: HttpRequest) -> Places:
    """Where the signed-in person works. One query, once a request.

    Raises PermissionDenied if the page was made for a shop in which they don't work (any more).
    """
    known: Places | None = getattr(request, "_places", None)
    if known is None:
        rows = Membership.objects.select_related("shop").filter(user=request.user.pk)
        every = tuple(rows.order_by("shop__name", "pk"))
        known = Places(every, _now(request, every))
        request._places = known  # type: ignore[attr-defined]
    return known


def _now(request: HttpRequest, every: tuple[Membership, ...]) -> Membership | None:
    by_shop = {str(one.shop_id): one for one in every}
    said = request.POST.get(FIELD) or request.headers.get(HEADER)
    if said and every:
        if said not in by_shop:
            raise PermissionDenied(
                "This page was made for a shop in which you don’t work, so nothing was saved. "
                "Ask its owner."
            )
        return by_shop[said]
    return by_shop.get(str(request.session.get(KEY)), every[0] if every else None)


def follow(request: HttpRequest, shop_id: int) -> None:
    """From now on the shop at hand is this one."""
    request.session[KEY] = shop_id
