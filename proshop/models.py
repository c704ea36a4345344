"""The shop, who works in it, and what every record of a shop has in common."""

import uuid
from typing import Any, Self

from django.conf import settings
from django.db import models, transaction
from django.db.models import F, Q
from django.urls import reverse


class Shop(models.Model):
    """One business with its own customers, shelf and houses; nothing crosses between shops."""

    name = models.CharField(max_length=80)
    currency = models.CharField(max_length=3, default="USD")
    is_demo = models.BooleanField(default=False)
    created_at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return self.name


class Membership(models.Model):
    """A person's place in a shop. Staff work in one shop; owners may have several."""

    class Role(models.TextChoices):
        STAFF = "staff", "Staff"
        OWNER = "owner", "Owner"

    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="memberships"
    )
    shop = models.ForeignKey(Shop, on_delete=models.CASCADE, related_name="memberships")
    role = models.CharField(max_length=5, choices=Role, default=Role.STAFF)

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=("user", "shop"), name="one_place_in_a_shop"),
            models.UniqueConstraint(
                fields=("user",), condition=Q(role="staff"), name="staff_of_one_shop"
            ),
        )

    def __str__(self) -> str:
        return f"{self.user} ({self.get_role_display()}, {self.shop})"


class StaleRecord(Exception):
    """Somebody else saved the record after it was opened for editing."""

    def __init__(self, record: "ShopRecord", expected_version: int) -> None:
        super().__init__(f"{record!r} is no longer at version {expected_version}")
        self.record = record
        self.expected_version = expected_version


class ShopRecordQuerySet(models.QuerySet[Any]):
    """Records of any kind that belong to a shop."""

    def for_shop(self, shop: Shop) -> Self:
        """Only what belongs to this shop."""
        return self.filter(shop=shop)


class ShopRecord(models.Model):
    """A record that belongs to a shop and is edited by people: it counts its versions."""

    shop = models.ForeignKey(Shop, on_delete=models.CASCADE, related_name="+")
    version = models.PositiveIntegerField(default=1, editable=False)
    created_at = models.DateTimeField(auto_now_add=True)
    updated_at = models.DateTimeField(auto_now=True)

    objects = ShopRecordQuerySet.as_manager()

    class Meta:
        abstract = True

    def save_checked(self, expected_version: int) -> None:
        """Save if nobody has saved since `expected_version`, else raise StaleRecord.

        The version is moved on by one conditional UPDATE, which also holds the row until the
        rest is written; `save` then follows so that history and signals see the change.
        """
        with transaction.atomic():
            rows = type(self)._default_manager.filter(pk=self.pk, version=expected_version)
            if rows.update(version=F("version") + 1) != 1:
                raise StaleRecord(self, expected_version)
            self.version = expected_version + 1
            self.save()


class SubmittedForm(models.Model):
    """A form that was sent and acted upon, so that sending it again does nothing twice."""

    token = models.UUIDField(default=uuid.uuid4)
    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    path = models.CharField(max_length=300)
    redirect_to = models.CharField(max_length=500, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=("token", "user", "path"), name="form_acted_on_once"),
        )

    def __str__(self) -> str:
        return f"{self.path} {self.token}"


class SentFile(models.Model):
    """A CSV file somebody sent: first checked, then perhaps imported.

    What is imported is the text kept here, which is what was checked; afterwards the text is
    dropped and the row says what was done.
    """

    shop = models.ForeignKey(Shop, on_delete=models.CASCADE, related_name="+")
    sent_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    sent_at = models.DateTimeField(auto_now_add=True)
    kind = models.CharField(max_length=30)
    name = models.CharField(max_length=200)
    text = models.TextField(blank=True)
    imported_at = models.DateTimeField(null=True)
    added = models.PositiveIntegerField(default=0)
    changed = models.PositiveIntegerField(default=0)
    same = models.PositiveIntegerField(default=0)

    objects = ShopRecordQuerySet.as_manager()

    class Meta:
        ordering = ("-sent_at", "-pk")

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("sent-file", args=[self.pk])

    @property
    def is_imported(self) -> bool:
        return self.imported_at is not None
