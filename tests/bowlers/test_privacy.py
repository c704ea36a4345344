"""All that is kept of one customer, given out or erased."""

import json
import uuid
from decimal import Decimal
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from arsenal.kept.store import UNUSED
from arsenal.models import OwnedBall, PhoneLink, Ticket
from bowlers.models import Bowler, CustomerMerge, Delivery, Erasure, Fitting, ToldApart
from bowlers.privacy import belongings, export
from bowlers.privacy.belongings import belongings_of
from proshop.backup.rows import lines, tables
from proshop.models import SentFile, Shop
from tests.arsenal import records
from tests.furnished import furnish

NAME, PHONE = "Wren Marsh", "555 0177"


@pytest.fixture
def wren(shop: Shop, staff: User) -> Bowler:
    """A customer with one of everything, an earlier name, and a delivery deleted long ago."""
    furnished = furnish(shop, staff)
    bowler = Bowler.objects.get(pk=furnished.by_path["customers"])
    assert bowler.name == NAME
    bowler.phone, bowler.notes = PHONE, "Knee hurts since the operation"
    bowler.save()
    bowler.notes = "Knee is fine"
    bowler.save()
    gone = Delivery.objects.create(
        shop=shop, fitting=bowler.fittings.get(), order=9, speed_mph=11.125
    )
    gone.delete()
    ticket = Ticket.objects.get(bowler=bowler)
    ticket.price_work, ticket.deposit = Decimal("65.00"), Decimal("20.00")
    ticket.words = "Ring when done, ask for Wren Marsh"
    ticket.save()
    return bowler


def said_anywhere(words: str) -> list[str]:
    """Every table in which it stands."""
    return [
        model._meta.label
        for model in tables()
        if any(words in line for line in lines(model, "default"))
    ]


def privacy(bowler: Bowler) -> str:
    return reverse("customer-privacy", args=[bowler.pk])


def sent(client: Client, bowler: Bowler, **changed: Any) -> Any:
    form = {"name": bowler.name, "record_version": bowler.version, "form_token": uuid.uuid4()}
    return client.post(privacy(bowler), {**form, **changed})


def test_the_page_takes_as_many_queries_for_one_of_everything_as_for_ten(
    owner_client: Client, wren: Bowler
) -> None:
    fitting = wren.fittings.get()
    counts = []
    for _ in range(2):
        with CaptureQueriesContext(connection) as taken:
            page = owner_client.get(privacy(wren))
        counts.append(len(taken))
        said = page.context["counts"]
        assert said["Deliveries"] == Delivery.objects.filter(fitting__bowler=wren).count()
        for order in range(20, 30):
            Delivery.objects.create(shop=wren.shop, fitting=fitting, order=order, speed_mph=17)
    assert counts[0] == counts[1] < 15


def test_the_file_holds_every_record_and_what_it_said_before(
    owner_client: Client, wren: Bowler
) -> None:
    answer = owner_client.get(reverse("customer-export", args=[wren.pk]))
    assert answer["Content-Disposition"] == f'attachment; filename="customer-{wren.pk}.json"'
    assert answer["Cache-Control"] == "no-store"
    told = json.loads(answer.content)
    assert (told["customer"], told["number"]) == (NAME, wren.pk)
    # Every kind there is, each with all its rows.
    expected = {
        str(model._meta.verbose_name_plural): len(rows)
        for model, rows in belongings_of(wren).rows()
    }
    assert {kind.casefold(): len(rows) for kind, rows in told["records"].items()} == {
        kind.casefold(): number for kind, number in expected.items()
    }
    assert len(expected) >= 12
    assert told["records"]["Deliveries"][0]["speed mph"] == 17.0
    earlier = answer.content.decode()
    assert "Knee hurts since the operation" in earlier
    assert "11.125" in earlier


def test_the_file_tells_nobody_elses_name_and_no_key(
    owner_client: Client, wren: Bowler, shop: Shop
) -> None:
    other = Bowler.objects.create(shop=shop, name="Wren Marshall")
    ToldApart.objects.create(shop=shop, first=wren, second=other)
    link = PhoneLink.objects.get(bowler=wren)
    text = owner_client.get(reverse("customer-export", args=[wren.pk])).content.decode()
    assert "another customer" in text
    for untold in ("Wren Marshall", link.nonce, link.token_digest):
        assert str(untold) not in text


def test_what_goes_and_what_stays_is_said_before(owner_client: Client, wren: Bowler) -> None:
    page = owner_client.get(privacy(wren)).content.decode()
    for said in ("Rankings", "Owned balls", "Earlier versions", "Backups made before", "65.00 USD"):
        assert said in page
    assert Bowler.objects.filter(pk=wren.pk).exists()
    # Pieces of what was computed belong to nobody, and last as long as they are of use.
    assert f"{UNUSED.days} days" in page


def test_nothing_of_an_erased_customer_is_left_anywhere(
    owner_client: Client, wren: Bowler, shop: Shop
) -> None:
    SentFile.objects.create(
        shop=shop, kind="customers", name="c.csv", text=f"name,phone\n{NAME.upper()},{PHONE}\n"
    )
    assert len(said_anywhere(NAME)) >= 4
    assert sent(owner_client, wren)["Location"] == reverse("customers-erased")
    for words in (NAME, NAME.upper(), PHONE, "Knee hurts", "11.125"):
        assert said_anywhere(words) == []
    # Nor a history of anything of theirs.
    assert OwnedBall.history.count() == Delivery.history.count() == Bowler.history.count() == 0
    assert not Ticket.history.exists()


def test_the_money_stays_without_the_person(
    owner_client: Client, owner: User, wren: Bowler
) -> None:
    number = wren.pk
    sent(owner_client, wren)
    erasure = Erasure.objects.get()
    assert (erasure.number, erasure.erased_by) == (number, owner)
    assert [(line["price"], line["deposit"]) for line in erasure.kept] == [
        ("65.00 USD", "20.00 USD")
    ]
    page = owner_client.get(reverse("customers-erased")).content.decode()
    assert f"Customer {number}" in page
    assert "65.00 USD" in page


def test_other_customers_lose_nothing(
    owner_client: Client, wren: Bowler, shop: Shop, staff: User
) -> None:
    other = records.customer(shop, name="Juniper Vale")
    spec = OwnedBall.objects.get(bowler=wren).spec
    records.owned_ball(other, spec)
    ToldApart.objects.create(shop=shop, first=wren, second=other)

    def all_of_them() -> dict[str, int]:
        found = belongings_of(other)
        return {
            model._meta.label: len(rows)
            for model, rows in (*found.rows(), *found.histories())
            if model is not ToldApart
        }

    before = all_of_them()
    sent(owner_client, wren)
    assert all_of_them() == before
    assert Bowler.objects.get() == other


def test_those_merged_into_them_go_as_well(owner_client: Client, shop: Shop) -> None:
    kept = Bowler.objects.create(shop=shop, name="Juniper Vale")
    gone = Bowler.objects.create(shop=shop, name="Juni Vail", phone="555 0199")
    CustomerMerge.objects.create(
        shop=shop, kept=kept, gone_number=gone.pk, gone_name=gone.name, gone_said={"Name": "Juni"}
    )
    gone.delete()
    assert (
        "Juni Vail" in owner_client.get(reverse("customer-export", args=[kept.pk])).content.decode()
    )
    sent(owner_client, kept)
    assert said_anywhere("Juni") == []


@pytest.mark.parametrize("typed", ["", "Wren", "wren marsh x", "Juniper Vale"])
def test_another_name_erases_nobody(typed: str, owner_client: Client, wren: Bowler) -> None:
    answer = sent(owner_client, wren, name=typed)
    assert answer.status_code == 200
    assert Bowler.objects.filter(pk=wren.pk).exists()


def test_capitals_and_spaces_don_t_matter(owner_client: Client, wren: Bowler) -> None:
    assert sent(owner_client, wren, name="  wren   MARSH ").status_code == 302


def test_a_record_changed_meanwhile_is_looked_at_again(owner_client: Client, wren: Bowler) -> None:
    for version in (wren.version + 1, "", "x"):
        answer = sent(owner_client, wren, record_version=version)
        assert Bowler.objects.filter(pk=wren.pk).exists(), version
        assert answer.status_code in {200, 302}
        if answer.status_code == 302:
            assert "nothing was erased" in owner_client.get(answer["Location"]).content.decode()


def test_sending_it_twice_erases_once(owner_client: Client, wren: Bowler) -> None:
    form = {"name": NAME, "record_version": wren.version, "form_token": uuid.uuid4()}
    first = owner_client.post(privacy(wren), form)
    second = owner_client.post(privacy(wren), form)
    assert first.status_code == second.status_code == 302
    assert first["Location"] == second["Location"]
    assert Erasure.objects.count() == 1


def test_staff_neither_give_out_nor_erase(staff_client: Client, wren: Bowler) -> None:
    assert sent(staff_client, wren).status_code == 403
    assert staff_client.get(reverse("customer-export", args=[wren.pk])).status_code == 403
    assert (
        reverse("customer-privacy", args=[wren.pk])
        not in staff_client.get(wren.get_absolute_url()).content.decode()
    )
    assert Bowler.objects.filter(pk=wren.pk).exists()


def test_the_bowlers_page_is_dead_at_once(
    owner_client: Client, stranger_client: Client, wren: Bowler
) -> None:
    token = PhoneLink.objects.get(bowler=wren).token
    assert stranger_client.get(f"/mine/{token}/").status_code == 200
    sent(owner_client, wren)
    assert stranger_client.get(f"/mine/{token}/").status_code == 404


def test_what_was_deleted_long_ago_is_told_by_its_history_alone(shop: Shop, staff: User) -> None:
    bowler = Bowler.objects.create(shop=shop, name=NAME)
    fitting = records.fitting(bowler)
    fitting.deliveries.all().delete()
    Fitting.history.all().delete()
    found = belongings_of(bowler)
    assert Delivery not in dict(found.rows())
    assert Delivery in dict(found.histories())
    # And a record whose history isn't there by itself.
    assert Fitting in dict(found.rows())
    assert Fitting not in dict(found.histories())


def test_asking_in_many_statements_finds_the_same(
    wren: Bowler, monkeypatch: pytest.MonkeyPatch
) -> None:
    at_once = belongings_of(wren)
    for name, most in (("TOGETHER", 2), ("AT_ONCE", 1)):
        with monkeypatch.context() as smaller:
            smaller.setattr(belongings, name, most)
            found = belongings_of(wren)
            assert found.numbers == at_once.numbers
            assert found.counts() == at_once.counts()


def test_bytes_are_given_out_as_their_number_and_what_has_no_words_is_not_made_up() -> None:
    said = json.dumps({"table": b"12", "kept": memoryview(b"345")}, default=export._plain)
    assert json.loads(said) == {"table": "2 bytes", "kept": "3 bytes"}
    with pytest.raises(TypeError, match="in a record"):
        json.dumps({"what": object()}, default=export._plain)
