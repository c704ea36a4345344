"""Pages of one's own account, and of a password that was forgotten."""

from __future__ import annotations

from typing import Any

from axes.utils import reset as open_again
from django.conf import settings
from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth import views as auth_views
from django.core.cache import cache
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.urls import reverse, reverse_lazy
from django.views.decorators.http import require_http_methods, require_safe

from proshop.access import ShopRequest, once, person_required
from proshop.accounts import second
from proshop.accounts.forms import (
    AccountForm,
    ChangePasswordForm,
    ChoosePasswordForm,
    ForgottenForm,
)
from proshop.often import too_often
from proshop.requests import client_address

# Against filling somebody's letter box: so many mails from one network address, and to one address.
MOST_MAILS, WINDOW_S = 5, 3600


class Forgotten(auth_views.PasswordResetView):
    """Asks for the mail address. It never says whether anybody has it."""

    template_name = "proshop/accounts/forgotten.html"
    email_template_name = "proshop/accounts/forgotten_mail.txt"
    subject_template_name = "proshop/accounts/forgotten_subject.txt"
    form_class = ForgottenForm
    success_url = reverse_lazy("forgotten-sent")

    def form_valid(self, form: Any) -> HttpResponse:
        sent_already = form.cleaned_data["form_token"] and not cache.add(
            f"forgotten:{form.cleaned_data['form_token']}", 1, WINDOW_S
        )
        asked = (client_address(self.request), form.cleaned_data["email"].casefold())
        if sent_already or any(
            too_often("forgotten-mails", where, MOST_MAILS, WINDOW_S) for where in asked
        ):
            return HttpResponseRedirect(str(self.success_url))
        return super().form_valid(form)


class Choose(auth_views.PasswordResetConfirmView):
    """Behind the link of the mail, or of the owner: a new password, chosen once."""

    template_name = "proshop/accounts/choose.html"
    form_class = ChoosePasswordForm
    success_url = reverse_lazy("password-chosen")

    def form_valid(self, form: Any) -> HttpResponse:
        # Whoever was locked out for wrong passwords has a right one now.
        open_again(username=form.user.get_username())
        return super().form_valid(form)


@person_required
@require_http_methods(["GET", "POST"])
@once
def account(request: ShopRequest) -> HttpResponse:
    """One's own name and mail address, and the ways to the rest."""
    form = AccountForm(request.POST or None, instance=request.user)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, "Your account is saved.")
        return redirect("account")
    context = {
        "form": form,
        "has_second": second.has_one(request.user),
        "idle_hours": settings.SESSION_COOKIE_AGE / 3600,
        "longest_hours": settings.SESSION_LONGEST_S / 3600,
    }
    return render(request, "proshop/accounts/account.html", context)


@person_required
@require_http_methods(["GET", "POST"])
@once
def change_password(request: ShopRequest) -> HttpResponse:
    """Another password for oneself; every other session of the account ends."""
    form = ChangePasswordForm(request.user, request.POST or None)
    if request.method == "POST" and form.is_valid():
        form.save()
        update_session_auth_hash(request, form.user)
        messages.success(
            request,
            "Your password is changed. Wherever else you were signed in, you no longer are.",
        )
        return redirect("account")
    context = {
        "form": form,
        "title": "Change your password",
        "submit_label": "Change it",
        "cancel_url": reverse("account"),
    }
    return render(request, "proshop/form.html", context)


@require_safe
def sent(request: HttpRequest) -> HttpResponse:
    """After asking: the same whether or not anybody has that address."""
    return render(request, "proshop/accounts/forgotten_sent.html")


@require_safe
def chosen(request: HttpRequest) -> HttpResponse:
    return render(request, "proshop/accounts/chosen.html")
