"""Who may see what, and sending a form once.

    @person_required     signed in, with or without a shop
    @staff_required      signed in and a member of a shop: sets request.shop and request.role
    @owner_required      the same, owners only
    @once                a POST carrying a `form_token` is acted upon one time

A view marked @once answers a form it could not accept with the form again (status 200 on a full
page, 422 to htmx); everything that attempt wrote is undone. It answers success with a redirect,
or to htmx with any other 2xx. Sending the same token again repeats the redirect, or answers htmx
with 204, which leaves the page as it is.
"""

import uuid
from collections.abc import Callable
from functools import wraps
from typing import TYPE_CHECKING, Concatenate, ParamSpec, cast

from django.contrib import messages
from django.contrib.auth.models import User
from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.http import HttpRequest, HttpResponse, HttpResponseBase, HttpResponseRedirect
from django.shortcuts import redirect

from . import at_hand
from .accounts import second
from .models import Membership, Shop, SubmittedForm

if TYPE_CHECKING:
    from django_htmx.middleware import HtmxDetails


class ShopRequest(HttpRequest):
    """A request that has passed `staff_required`."""

    user: User
    shop: Shop
    role: str
    htmx: "HtmxDetails"


P = ParamSpec("P")
MemberView = Callable[Concatenate[ShopRequest, P], HttpResponseBase]
View = Callable[Concatenate[HttpRequest, P], HttpResponseBase]


def _for_roles(view: MemberView[P], roles: set[str]) -> View[P]:
    @wraps(view)
    def checked(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
        if not request.user.is_authenticated:
            return redirect_to_login(request.get_full_path())
        places = at_hand.places_of(request)
        if places.now is None:
            raise PermissionDenied("Your account isn't part of a shop yet. Ask the owner.")
        if places.now.role not in roles:
            raise PermissionDenied("This page is for the shop's owner.")
        if second.is_demanded(places.now.role) and not getattr(request.user, "otp_device", None):
            messages.warning(request, "Signing in takes a second step here: switch it on first.")
            return redirect("second-factor")
        member = cast(ShopRequest, request)
        member.shop, member.role = places.now.shop, places.now.role
        if not places.is_choice:
            return view(member, *args, **kwargs)
        return _in_one_of_several(view, member, *args, **kwargs)

    return checked


def _in_one_of_several(
    view: MemberView[P], request: ShopRequest, /, *args: P.args, **kwargs: P.kwargs
) -> HttpResponseBase:
    """Forms say which shop they were made for; where a form leads to is in the shop it changed."""
    before = request.session.get(at_hand.KEY)
    made = at_hand.made_for.set(request.shop.pk)
    try:
        response = view(request, *args, **kwargs)
    finally:
        at_hand.made_for.reset(made)
    switched = request.session.get(at_hand.KEY) != before
    if request.method == "POST" and _target(response) and not switched:
        at_hand.follow(request, request.shop.pk)
    return response


def person_required(view: MemberView[P]) -> View[P]:
    """Let anybody in who has an account: it is about that account, and about no shop."""

    @wraps(view)
    def checked(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
        if not request.user.is_authenticated:
            return redirect_to_login(request.get_full_path())
        return view(cast(ShopRequest, request), *args, **kwargs)

    return checked


def staff_required(view: MemberView[P]) -> View[P]:
    """Let members of a shop in, whatever their role."""
    return _for_roles(view, {Membership.Role.STAFF, Membership.Role.OWNER})


def owner_required(view: MemberView[P]) -> View[P]:
    """Let owners of a shop in."""
    return _for_roles(view, {Membership.Role.OWNER})


def once(view: MemberView[P]) -> MemberView[P]:
    """Act on a form one time: see the head of this module. Goes under staff_required."""

    @wraps(view)
    def guarded(request: ShopRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
        if request.method != "POST":
            return view(request, *args, **kwargs)
        token = _token_of(request)
        with transaction.atomic():
            earlier, mine = (None, None) if token is None else _claim(request, token)
            if earlier is not None:
                return _repeat(request, earlier)
            response = view(request, *args, **kwargs)
            if not _succeeded(request, response):
                transaction.set_rollback(True)
            elif mine is not None:
                mine.redirect_to = _target(response)
                mine.save(update_fields=["redirect_to"])
        return response

    return guarded


def _token_of(request: HttpRequest) -> uuid.UUID | None:
    """The form's token; None when the form carries none or a broken one."""
    try:
        return uuid.UUID(request.POST.get("form_token", ""))
    except ValueError:
        return None


def _claim(
    request: ShopRequest, token: uuid.UUID
) -> tuple[SubmittedForm | None, SubmittedForm | None]:
    """(earlier submission, None) or (None, this one, claimed).

    A twin that is still being served holds the unique row, so its second waits here for the end
    of the first.
    """
    key = {"token": token, "user": request.user, "path": request.path}
    try:
        with transaction.atomic():
            return None, SubmittedForm.objects.create(**key)
    except IntegrityError:
        return SubmittedForm.objects.get(**key), None


def _target(response: HttpResponseBase) -> str:
    return response.headers.get("HX-Redirect") or response.headers.get("Location") or ""


def _succeeded(request: ShopRequest, response: HttpResponseBase) -> bool:
    if _target(response):
        return True
    return bool(request.htmx) and 200 <= response.status_code < 300


def _repeat(request: ShopRequest, earlier: SubmittedForm) -> HttpResponse:
    if request.htmx:
        response = HttpResponse(status=204)
        if earlier.redirect_to:
            response["HX-Redirect"] = earlier.redirect_to
        return response
    return HttpResponseRedirect(earlier.redirect_to or request.path)
