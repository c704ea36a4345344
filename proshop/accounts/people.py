"""Pages of who works in which shop: the switch for those with several, and the owner's list."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.models import User
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_http_methods, require_POST

from proshop import at_hand
from proshop.access import ShopRequest, once, owner_required, staff_required
from proshop.accounts import second, services
from proshop.accounts.forms import NewPersonForm, PersonForm
from proshop.models import Membership


@staff_required
@require_http_methods(["GET", "POST"])
@once
def shops(request: ShopRequest) -> HttpResponse:
    """Every shop one works in; takes the one to look from now on."""
    places = at_hand.places_of(request)
    asked = request.POST.get("shop", "")
    if request.method == "POST" and not asked:
        messages.error(request, "No shop was chosen: press the button beside one.")
    elif request.method == "POST":
        by_shop = {str(one.shop_id): one.shop for one in places.all}
        shop = by_shop.get(asked)
        if shop is None:
            raise PermissionDenied("You don’t work in that shop. Ask its owner.")
        at_hand.follow(request, shop.pk)
        wanted = request.POST.get("next", "")
        messages.info(request, f"You look from {shop} now.")
        if url_has_allowed_host_and_scheme(
            wanted, {request.get_host()}, require_https=request.is_secure()
        ):
            return redirect(wanted)
        return redirect("home")
    return render(request, "proshop/accounts/shops.html", {"all_places": places.all})


@owner_required
@require_http_methods(["GET", "POST"])
@once
def people(request: ShopRequest) -> HttpResponse:
    """Who works in the shop; adds somebody, with a link by which they choose their password."""
    form = NewPersonForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        told = form.cleaned_data
        user = services.add_person(
            shop=request.shop,
            username=told["username"],
            first_name=told["first_name"],
            last_name=told["last_name"],
            role=told["role"],
        )
        _tell_way_in(request, user)
        return redirect("person", user.memberships.get().pk)
    rows = Membership.objects.filter(shop=request.shop).select_related("user")
    context = {"rows": rows.order_by("user__username"), "form": form}
    return render(request, "proshop/accounts/people.html", context)


def place_of(request: ShopRequest, pk: int) -> Membership:
    rows = Membership.objects.filter(shop=request.shop).select_related("user")
    return get_object_or_404(rows, pk=pk)


def only_ours(request: ShopRequest, pk: int) -> Membership:
    """Somebody of the shop whose way in is the owner's to change. Raises PermissionDenied where
    they work for another owner too."""
    place = place_of(request, pk)
    if not services.has_all_shops_of(request.user, place.user):
        raise PermissionDenied("They work in another owner’s shop as well: it is for them to do.")
    return place


def _tell_way_in(request: ShopRequest, user: User) -> None:
    address = request.build_absolute_uri(services.way_in(user))
    messages.success(
        request,
        f"Give this address to {user.get_full_name() or user}: it works once, within a day, and "
        f"lets whoever has it choose the password of {user}. {address}",
    )


@owner_required
@require_http_methods(["GET", "POST"])
@once
def person(request: ShopRequest, pk: int) -> HttpResponse:
    """What somebody may do here, and in which of the owner's shops."""
    place = place_of(request, pk)
    form = PersonForm(request.POST or None, person=place.user, owner=request.user)
    if request.method == "POST" and form.is_valid():
        told = form.cleaned_data
        services.put(user=place.user, role=told["role"], shops=told["shops"], among=form.among)
        messages.success(request, f"What {place.user} may do is changed.")
        return redirect("people")
    context = {
        "place": place,
        "form": form,
        "may_reset": services.has_all_shops_of(request.user, place.user),
        "has_second": second.has_one(place.user),
        "is_self": place.user == request.user,
    }
    return render(request, "proshop/accounts/person.html", context)


@owner_required
@require_POST
@once
def person_link(request: ShopRequest, pk: int) -> HttpResponse:
    """Make a link by which somebody of the shop chooses a new password."""
    place = only_ours(request, pk)
    _tell_way_in(request, place.user)
    return redirect("person", place.pk)


@owner_required
@require_POST
@once
def person_end(request: ShopRequest, pk: int) -> HttpResponse:
    """End somebody's access to the shop at hand; what they logged stays theirs."""
    place = place_of(request, pk)
    if place.user == request.user:
        messages.error(request, "You can’t end your own access: another owner can.")
        return redirect("person", place.pk)
    place.delete()
    messages.success(request, f"{place.user} no longer has access to {request.shop}.")
    return redirect("people")
