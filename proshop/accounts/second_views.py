"""Pages of the second factor: switching it on and off, and being asked for a code."""

from __future__ import annotations

import segno
from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_http_methods, require_POST
from django_otp import login as note_device
from django_otp import match_token

from proshop.access import ShopRequest, once, owner_required, person_required
from proshop.accounts import second
from proshop.accounts.forms import CodeForm, PasswordAgainForm, SwitchOnForm
from proshop.accounts.people import only_ours

KEY, CODES = "second key", "recovery codes"


@login_not_required
@require_http_methods(["GET", "POST"])
def code(request: HttpRequest) -> HttpResponse:
    """The second step of signing in. Until it is done nobody is signed in."""
    waiting = second.half_in(request)
    # Where nobody is half in, nothing that was typed is looked at.
    form = CodeForm(request.POST if waiting is not None and request.method == "POST" else None)
    if waiting is not None and form.is_valid():
        device = match_token(waiting.user, form.cleaned_data["code"])
        if device is not None:
            login(request, waiting.user, backend=waiting.backend)
            note_device(request, device)
            return redirect(waiting.then)
        form.add_error(
            "code",
            "That code isn’t right, was used already, or came too soon after a wrong one. Wait for "
            "the next one, then type it.",
        )
    context = {"form": form, "waiting": waiting}
    return render(request, "proshop/accounts/code.html", context)


@person_required
@require_http_methods(["GET", "POST"])
@once
def second_factor(request: ShopRequest) -> HttpResponse:
    """Whether one's own sign-in takes a code; switches it on."""
    if second.has_one(request.user):
        return render(request, "proshop/accounts/second_on.html", _on(request))
    key = request.session.get(KEY)
    if key is None:
        key = request.session[KEY] = second.new_key()
    form = SwitchOnForm(request.POST or None, user=request.user)
    device = second.telephone(request.user, key)
    if request.method == "POST" and form.is_valid():
        if second.stored_if_it_fits(device, form.cleaned_data["code"]):
            request.session[CODES] = second.switch_on(request=request, device=device)
            del request.session[KEY]
            note_device(request, device)
            return redirect("second-factor")
        form.add_error(
            "code",
            "That code doesn’t fit: take the one shown now, and check the telephone’s clock.",
        )
    square = segno.make(device.config_url, error="m", micro=False).svg_inline(
        scale=5, border=4, dark="#000", light="#fff", omitsize=True, lineclass=None,
        svgclass="code-square", title="The secret as a square to photograph",
    )  # fmt: skip
    context = {"form": form, "square": mark_safe(square), "typed": second.as_typed(key)}  # noqa: S308
    return render(request, "proshop/accounts/second_off.html", context)


def _on(request: ShopRequest) -> dict[str, object]:
    """Recovery codes are shown once, right after they were made."""
    return {
        "codes": request.session.pop(CODES, []),
        "left": second.codes_left(request.user),
        "off": PasswordAgainForm(user=request.user, auto_id="off_%s"),
        "anew": PasswordAgainForm(user=request.user, auto_id="anew_%s"),
    }


@person_required
@require_POST
@once
def second_codes(request: ShopRequest) -> HttpResponse:
    """New recovery codes in place of the old ones."""
    form = PasswordAgainForm(request.POST, user=request.user, auto_id="anew_%s")
    if not second.has_one(request.user):
        return redirect("second-factor")
    if form.is_valid():
        request.session[CODES] = second.recovery_codes(user=request.user)
        return redirect("second-factor")
    return render(request, "proshop/accounts/second_on.html", {**_on(request), "anew": form})


@person_required
@require_POST
@once
def second_end(request: ShopRequest) -> HttpResponse:
    """Signing in takes the password alone again."""
    form = PasswordAgainForm(request.POST, user=request.user, auto_id="off_%s")
    if not second.has_one(request.user):
        return redirect("second-factor")
    if form.is_valid():
        second.switch_off(user=request.user)
        messages.success(request, "Signing in takes your password alone again.")
        return redirect("account")
    return render(request, "proshop/accounts/second_on.html", {**_on(request), "off": form})


@owner_required
@require_POST
@once
def person_second_end(request: ShopRequest, pk: int) -> HttpResponse:
    """For somebody of the shop whose telephone is lost, and the recovery codes too."""
    place = only_ours(request, pk)
    second.switch_off(user=place.user)
    messages.success(
        request, f"{place.user} signs in with the password alone until they change it."
    )
    return redirect("person", place.pk)
