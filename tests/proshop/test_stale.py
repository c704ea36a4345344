"""Two people edit the same record."""

import threading
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.urls import reverse

from bowlers.forms import BowlerForm
from bowlers.models import Bowler
from proshop.models import Shop, StaleRecord


@pytest.fixture
def bowler(shop: Shop) -> Bowler:
    record: Bowler = Bowler.objects.create(shop=shop, name="Juniper Vale", average=150)
    return record


def opened(client: Client, bowler: Bowler) -> dict[str, Any]:
    """What the edit page would send back if nothing was changed."""
    form = client.get(reverse("customer-edit", args=[bowler.pk])).context["form"]
    values = {field.html_name: field.value() for field in form}
    return {name: value() if callable(value) else value for name, value in values.items() if value}


def test_saving_counts_the_version_up(bowler: Bowler) -> None:
    bowler.save_checked(expected_version=1)
    assert bowler.version == 2
    assert Bowler.objects.get().version == 2


def test_saving_what_has_moved_on_changes_nothing(bowler: Bowler) -> None:
    Bowler.objects.update(version=2, name="Juniper Hale")
    bowler.name = "Juniper Dale"
    with pytest.raises(StaleRecord):
        bowler.save_checked(expected_version=1)
    stored = Bowler.objects.get()
    assert (stored.name, stored.version) == ("Juniper Hale", 2)


def test_the_later_of_two_editors_is_told_and_loses_nothing(
    staff_client: Client, second_staff_client: Client, bowler: Bowler
) -> None:
    mine = opened(staff_client, bowler)
    theirs = opened(second_staff_client, bowler)
    address = reverse("customer-edit", args=[bowler.pk])
    assert second_staff_client.post(address, {**theirs, "average": "171"}).status_code == 302

    answer = staff_client.post(address, {**mine, "average": "165", "goal": "Carry more"})
    assert answer.status_code == 200
    page = answer.content.decode()
    assert "Dana saved this record" in page
    assert "Stored now" in page
    assert "171" in page
    form = answer.context["form"]
    assert (form["average"].value(), form["goal"].value()) == ("165", "Carry more")
    assert Bowler.objects.get().average == 171


def test_sending_the_form_again_on_purpose_replaces_what_is_stored(
    staff_client: Client, second_staff_client: Client, bowler: Bowler
) -> None:
    mine = opened(staff_client, bowler)
    address = reverse("customer-edit", args=[bowler.pk])
    second_staff_client.post(address, {**opened(second_staff_client, bowler), "average": "171"})
    told = staff_client.post(address, {**mine, "average": "165"}).context["form"]
    again = {**mine, "average": "165", "record_version": told["record_version"].value()}
    assert staff_client.post(address, again).status_code == 302
    stored = Bowler.objects.get()
    assert (stored.average, stored.version) == (165, 3)


def test_an_edit_without_its_version_is_refused(staff_client: Client, bowler: Bowler) -> None:
    values = opened(staff_client, bowler)
    del values["record_version"]
    answer = staff_client.post(
        reverse("customer-edit", args=[bowler.pk]), {**values, "average": "165"}
    )
    assert answer.status_code == 200
    assert Bowler.objects.get().average == 150


@pytest.mark.django_db(transaction=True)
def test_of_two_savers_at_the_same_moment_one_wins(shop: Shop, staff: User) -> None:
    savers = 1 if connection.vendor == "sqlite" else 4
    Bowler.objects.create(shop=shop, name="Juniper Vale")
    start = threading.Barrier(savers)
    won: list[bool] = []

    def save() -> None:
        record = Bowler.objects.get()
        start.wait()
        try:
            record.save_checked(expected_version=1)
            won.append(True)
        except StaleRecord:
            won.append(False)
        finally:
            connection.close()

    threads = [threading.Thread(target=save) for _ in range(savers)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=120)
    assert won.count(True) == 1
    assert len(won) == savers


def test_what_was_deleted_between_opening_and_saving_is_told(bowler: Bowler) -> None:
    form = BowlerForm({"name": "Juniper Dale", "record_version": "1"}, instance=bowler)
    Bowler.objects.filter(pk=bowler.pk).delete()
    assert not form.is_valid()
    assert "This record has been deleted meanwhile." in form.non_field_errors()
    with pytest.raises(ValueError, match="errors can't be saved"):
        form.save()
    assert not Bowler.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_a_form_that_is_only_looked_at_is_told_as_well() -> None:
    """Outside of a transaction no row can be held: PostgreSQL refuses to."""
    shop = Shop.objects.create(name="Two Counters")
    bowler = Bowler.objects.create(shop=shop, name="Juniper Vale")
    Bowler.objects.get(pk=bowler.pk).save_checked(1)
    form = BowlerForm({"name": "Juniper Dale", "record_version": "1"}, instance=bowler)
    assert not form.is_valid()
    assert "saved this record" in str(form.non_field_errors())
