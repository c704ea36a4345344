"""Forms about one's own account."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.forms import PasswordChangeForm, PasswordResetForm, SetPasswordForm
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError

from proshop.forms import TokenMixin
from proshop.models import Membership, Shop


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


class NewPersonForm(TokenMixin, forms.ModelForm):  # type: ignore[type-arg]
    """An account for somebody who begins to work here."""

    role = forms.ChoiceField(
        choices=Membership.Role.choices,
        widget=forms.RadioSelect,
        help_text="Owners see the owner’s page, change rules and say who works here.",
    )
    field_order = ("username", "first_name", "last_name", "role")

    class Meta:
        model = User
        fields = ("username", "first_name", "last_name")
        labels = {"username": "Name to sign in with"}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["role"].initial = Membership.Role.STAFF

    def clean_username(self) -> str:
        name = str(self.cleaned_data["username"])
        if User.objects.filter(username__iexact=name).exists():
            raise ValidationError("Somebody signs in with that name already: choose another.")
        return name


class PersonForm(TokenMixin, forms.Form):
    """What somebody may do here, and in which of the owner's shops they work."""

    role = forms.ChoiceField(choices=Membership.Role.choices, widget=forms.RadioSelect)
    shops = forms.ModelMultipleChoiceField(
        Shop.objects.none(),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one shop; access is ended further down."},
    )

    def __init__(self, *args: Any, person: User, owner: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.person, self.owner = person, owner
        owned = Membership.objects.filter(user=owner, role=Membership.Role.OWNER)
        self.among = Shop.objects.filter(pk__in=owned.values("shop")).order_by("name", "pk")
        places = Membership.objects.filter(user=person, shop__in=self.among)
        roles = set(places.values_list("role", flat=True))
        self.fields["shops"].queryset = self.among  # type: ignore[attr-defined]
        self.fields["shops"].initial = list(places.values_list("shop_id", flat=True))
        self.fields["role"].initial = roles.pop() if len(roles) == 1 else Membership.Role.OWNER
        if len(self.among) == 1:
            self.fields["shops"].widget = forms.MultipleHiddenInput()

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if "shops" in self.errors:
            # Even the only one, which is hidden: what is wrong is said beside it.
            choices = self.fields["shops"].choices  # type: ignore[attr-defined]
            self.fields["shops"].widget = forms.CheckboxSelectMultiple(choices=choices)
        role, shops = cleaned.get("role"), cleaned.get("shops")
        if role is None or shops is None:
            return cleaned
        elsewhere = Membership.objects.filter(user=self.person).exclude(shop__in=self.among)
        if role == Membership.Role.STAFF and len(shops) + elsewhere.count() > 1:
            raise ValidationError(
                "Staff work in one shop: choose one, or make them an owner.", code="several"
            )
        if self.person == self.owner and role != Membership.Role.OWNER:
            raise ValidationError("You can’t take your own ownership away: another owner can.")
        if self.person == self.owner and set(shops) != set(self.among):
            raise ValidationError("You can’t take a shop of your own away: another owner can.")
        return cleaned


class CodeForm(TokenMixin, forms.Form):
    """A code of the telephone, or a recovery code."""

    code = forms.CharField(
        max_length=40,
        widget=forms.TextInput(
            {"autocomplete": "one-time-code", "autocapitalize": "none", "spellcheck": "false"}
        ),
        error_messages={
            "required": "The code is missing: type the six digits your telephone shows."
        },
    )

    def clean_code(self) -> str:
        return "".join(str(self.cleaned_data["code"]).split()).lower()


class PasswordAgainForm(TokenMixin, forms.Form):
    """One's own password, before the way one signs in is changed."""

    password = forms.CharField(
        label="Your password now",
        strip=False,
        widget=forms.PasswordInput({"autocomplete": "current-password"}),
        error_messages={"required": "Enter your password, so that it is you who changes this."},
    )

    def __init__(self, *args: Any, user: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.user = user

    def clean_password(self) -> str:
        password = str(self.cleaned_data["password"])
        if not self.user.check_password(password):
            raise ValidationError("That isn’t your password: type it again.")
        return password


class SwitchOnForm(CodeForm, PasswordAgainForm):
    """The first code of a telephone that was just told the secret."""

    field_order = ("code", "password")
