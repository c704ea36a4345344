"""Forms about one's own account."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.forms import PasswordChangeForm, PasswordResetForm, SetPasswordForm
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError

from proshop.forms import TokenMixin


class ForgottenForm(TokenMixin, PasswordResetForm):
    """The mail address at which somebody is to choose a new password."""

    field_order = ("email",)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["email"].label = "Your mail address"
        self.fields["email"].error_messages = {
            "required": "Your mail address is missing: enter the one of your account.",
            "invalid": "That is no mail address: enter it as name@example.com.",
        }


class ChoosePasswordForm(TokenMixin, SetPasswordForm):  # type: ignore[type-arg]
    """A new password, twice, where the old one is forgotten or there was none."""


class ChangePasswordForm(TokenMixin, PasswordChangeForm):
    """A new password, twice, by somebody who knows the old one."""


class AccountForm(TokenMixin, forms.ModelForm):  # type: ignore[type-arg]
    """How colleagues read one's name, and where a forgotten password can be mended.

    The password is asked for: with another mail address whoever stands at an open tablet could
    take the account over.
    """

    password = forms.CharField(
        label="Your password now",
        strip=False,
        widget=forms.PasswordInput({"autocomplete": "current-password"}),
        error_messages={"required": "Enter your password, so that it is you who changes this."},
    )

    class Meta:
        model = User
        fields = ("first_name", "last_name", "email")
        labels = {"email": "Mail address (optional)"}
        help_texts = {"email": "Only for choosing a new password when yours is forgotten."}

    def clean_password(self) -> str:
        password = str(self.cleaned_data["password"])
        if not User.objects.get(pk=self.instance.pk).check_password(password):
            raise ValidationError("That isn’t your password: type it again.")
        return password
