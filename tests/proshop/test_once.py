"""A form sent twice acts once."""

import datetime
import io
import threading
import uuid

import pytest
from django.contrib.auth.models import User
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from bowlers import services
from bowlers.models import Bowler, Fitting
from proshop.models import Shop, SubmittedForm

NEW_CUSTOMER = {
    "name": "Juniper Vale",
    "hand": "right",
    "thumb": "in",
    "hands": "one",
    "fingers": "fingertip",
}


def sent_with(token: uuid.UUID, **changes: str) -> dict[str, str]:
    return {**NEW_CUSTOMER, "form_token": str(token), **changes}


def test_the_second_press_leads_to_the_record_of_the_first(staff_client: Client) -> None:
    form = sent_with(uuid.uuid4())
    first = staff_client.post(reverse("customer-add"), form)
    second = staff_client.post(reverse("customer-add"), form)
    assert first.status_code == second.status_code == 302
    assert first["Location"] == second["Location"]
    assert Bowler.objects.count() == 1


def test_a_fresh_form_is_a_second_customer(staff_client: Client) -> None:
    for _ in range(2):
        staff_client.post(reverse("customer-add"), sent_with(uuid.uuid4()))
    assert Bowler.objects.count() == 2


def test_forms_sent_long_ago_are_forgotten(staff_client: Client) -> None:
    old, new = uuid.uuid4(), uuid.uuid4()
    for token in (old, new):
        staff_client.post(reverse("customer-add"), sent_with(token))
    long_ago = timezone.now() - datetime.timedelta(days=31)
    SubmittedForm.objects.filter(token=old).update(created_at=long_ago)
    call_command("forget_forms", stdout=io.StringIO())
    assert [form.token for form in SubmittedForm.objects.all()] == [new]
    with pytest.raises(CommandError, match="--days must be from 1"):
        call_command("forget_forms", "--days", "0")


def test_a_refused_form_may_be_sent_again_once_it_is_right(staff_client: Client) -> None:
    token = uuid.uuid4()
    refused = staff_client.post(reverse("customer-add"), sent_with(token, average="400"))
    assert refused.status_code == 200
    assert "Juniper Vale" in refused.content.decode()
    assert str(token) in refused.content.decode()
    assert not SubmittedForm.objects.exists()
    assert staff_client.post(reverse("customer-add"), sent_with(token)).status_code == 302
    assert Bowler.objects.get().name == "Juniper Vale"


def test_a_colleagues_form_with_the_same_token_is_their_own(
    staff_client: Client, second_staff_client: Client
) -> None:
    form = sent_with(uuid.uuid4())
    staff_client.post(reverse("customer-add"), form)
    second_staff_client.post(reverse("customer-add"), form)
    assert Bowler.objects.count() == 2


def test_the_form_on_the_page_carries_a_token_of_its_own(staff_client: Client) -> None:
    pages = [staff_client.get(reverse("customer-add")).context["form"] for _ in range(2)]
    tokens = {str(form["form_token"].value()) for form in pages}
    assert len(tokens) == 2


@pytest.mark.django_db(transaction=True)
def test_two_presses_at_the_same_moment_act_once(shop: Shop, staff: User) -> None:
    form = sent_with(uuid.uuid4())
    start = threading.Barrier(2)
    answers: list[str] = []

    def press() -> None:
        client = Client()
        client.force_login(staff, backend="django.contrib.auth.backends.ModelBackend")
        start.wait()
        try:
            answers.append(client.post(reverse("customer-add"), form)["Location"])
        finally:
            connection.close()

    if connection.vendor == "sqlite":
        # The tests' database lives in memory and is shared by handing over one connection.
        start = threading.Barrier(1)
        press()
        press()
    else:
        presses = [threading.Thread(target=press) for _ in range(2)]
        for thread in presses:
            thread.start()
        for thread in presses:
            thread.join(timeout=120)
    assert len(answers) == 2
    assert len(set(answers)) == 1
    assert Bowler.objects.count() == 1


def test_a_second_press_from_a_page_s_part_leads_where_the_first_did(
    shop: Shop, staff: User, staff_client: Client
) -> None:
    """The row of a fitting that a colleague finished meanwhile: the whole page goes back to it."""
    bowler = Bowler.objects.create(shop=shop, name="Juniper Vale")
    fitting = services.start_fitting(
        bowler=bowler, fitted_on=datetime.date(2026, 5, 3), notes="", logged_by=staff
    )
    Fitting.objects.filter(pk=fitting.pk).update(status=Fitting.Status.FINISHED)
    form = {"form_token": str(uuid.uuid4()), "row_key": str(uuid.uuid4()), "speed_mph": "17"}
    address = reverse("delivery-save", args=[fitting.pk])
    for _ in range(2):
        answer = staff_client.post(address, form, headers={"HX-Request": "true"})
        assert answer.status_code == 204
        assert answer["HX-Redirect"] == fitting.get_absolute_url()
    assert not fitting.deliveries.exists()
