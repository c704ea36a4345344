"""The demo: one command, as new each time, and something real on every page."""

from io import StringIO
from typing import Any

import pytest
from django.apps import apps
from django.contrib.auth.models import User
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse

from arsenal.demo.people import PEOPLE
from arsenal.models import (
    BallModel,
    BallSpec,
    BowlerCondition,
    Condition,
    House,
    OwnedBall,
    Ranking,
    StockBall,
)
from bowlers.duplicates import merging
from bowlers.models import Bowler, CustomerMerge, Delivery, Fitting
from proshop.models import Membership, Shop
from tests.arsenal import records

pytestmark = pytest.mark.django_db


def load(**options: Any) -> str:
    said = StringIO()
    call_command("demo", stdout=said, **options)
    return said.getvalue()


def demo_shop() -> Shop:
    return Shop.objects.get(is_demo=True)


def everything() -> dict[str, list[dict[str, Any]]]:
    """Every row of every table of ours, history and jobs included."""
    return {
        model._meta.label: list(model._default_manager.order_by("pk").values())
        for label in ("proshop", "bowlers", "arsenal", "auth", "django_tasks_db")
        for model in apps.get_app_config(
            "django_tasks_database" if label == "django_tasks_db" else label
        ).get_models()
    }


def test_loading_twice_leaves_exactly_the_same_records() -> None:
    load()
    before = everything()
    load()
    assert everything() == before
    assert len(before["bowlers.Delivery"]) > 80
    assert len(before["arsenal.Hole"]) > 100


def test_a_reload_puts_back_what_was_changed_added_and_removed() -> None:
    load()
    shop = demo_shop()
    wanted = {model: model.objects.for_shop(shop).count() for model in (Bowler, OwnedBall)}
    changed = Bowler.objects.get(name=PEOPLE[0].name)
    changed.goal, changed.average = "Something else", 100
    changed.save()
    added = records.customer(shop, "Somebody Added")
    model = records.ball_model(shop, "Not a Tree of Ours")
    records.owned_ball(added, model.specs.get())
    removed = OwnedBall.objects.for_shop(shop).first()
    assert removed is not None
    removed.delete()
    # A record that no answer can be worked out of, a row without a version, the shop itself.
    unanswerable = Ranking.objects.filter(shop=shop).first()
    assert unanswerable is not None
    unanswerable.pk, unanswerable.bowler = None, added
    unanswerable.save()
    spec = BallSpec.objects.filter(model__shop=shop).exclude(model=model).first()
    assert spec is not None
    was = spec.rg_low_in
    BallSpec.objects.filter(pk=spec.pk).update(rg_low_in=2.45 if was > 2.5 else 2.6)
    shelf = list(StockBall.objects.for_shop(shop).values_list("pk", flat=True).order_by("pk"))
    twin = StockBall.objects.get(pk=shelf[0])
    twin.pk = None
    twin.save()
    Shop.objects.filter(pk=shop.pk).update(name="Renamed", currency="EUR")

    load()

    spec.refresh_from_db()
    assert spec.rg_low_in == was
    assert not Ranking.objects.filter(pk=unanswerable.pk).exists()
    now = StockBall.objects.for_shop(shop).values_list("pk", flat=True).order_by("pk")
    assert list(now) == shelf
    again = demo_shop()
    assert (again.pk, again.name, again.currency) == (shop.pk, shop.name, "USD")
    changed.refresh_from_db()
    assert (changed.goal, changed.average) == (PEOPLE[0].goal, PEOPLE[0].average)
    assert not Bowler.objects.filter(name="Somebody Added").exists()
    assert not BallModel.objects.filter(name="Not a Tree of Ours").exists()
    assert {model: model.objects.for_shop(shop).count() for model in wanted} == wanted


def test_a_reload_parts_customers_who_were_made_one() -> None:
    load()
    people = sorted(Bowler.objects.values_list("name", flat=True))
    kept, gone = Bowler.objects.all()[:2]
    merging.merge(kept=kept, gone=gone, values={}, versions=(kept.version, gone.version), user=None)
    assert Bowler.objects.count() == len(people) - 1
    load()
    assert sorted(Bowler.objects.values_list("name", flat=True)) == people
    assert CustomerMerge.objects.count() == 0


def test_a_changed_record_is_newer_after_the_reload() -> None:
    """A page still open on it is told, instead of writing over it."""
    load()
    house = House.objects.for_shop(demo_shop()).first()
    assert house is not None
    house.friction_factor = 0.9
    house.save_checked(house.version)
    load()
    house.refresh_from_db()
    assert house.friction_factor != 0.9
    assert house.version == 3


def test_other_shops_are_left_alone(shop: Shop, staff: User) -> None:
    bowler = records.customer(shop, PEOPLE[0].name)
    spec = records.ball_model(shop, "Hornbeam").specs.get()
    ball = records.owned_ball(bowler, spec)
    records.stock_ball(shop, spec)
    condition = records.condition(records.house(shop, "Quarry Hollow Lanes"))
    met = BowlerCondition.objects.create(
        shop=shop, bowler=bowler, condition=condition, times_a_season=3
    )
    records.fitting(bowler)

    def theirs() -> dict[str, list[dict[str, Any]]]:
        kinds: tuple[Any, ...] = (
            *(Bowler, Fitting, Delivery, BallModel, StockBall, OwnedBall),
            *(House, Condition, BowlerCondition, Ranking),
        )
        found = {
            kind._meta.label: list(kind.objects.filter(shop=shop).order_by("pk").values())
            for kind in kinds
        }
        found["specs"] = list(BallSpec.objects.filter(model__shop=shop).values())
        found["holes"] = list(ball.holes.values())
        return found

    before = theirs()
    load()
    load()
    assert theirs() == before
    assert Membership.objects.get(user=staff).shop == shop
    assert BowlerCondition.objects.get(pk=met.pk).condition == condition


def test_it_does_nothing_if_asked_to_and_there_is_a_shop(shop: Shop) -> None:
    load(if_empty=True)
    assert Shop.objects.count() == 1
    assert not Bowler.objects.exists()


def test_it_loads_into_an_empty_database_if_asked_to() -> None:
    said = load(if_empty=True)
    assert "Demo loaded" in said
    again = load(if_empty=True)
    assert "Demo loaded" not in again
    assert "demo-owner" in again


def test_passwords_are_printed_once_and_work() -> None:
    said = load()
    words = {line.split()[0]: line.split()[1] for line in said.splitlines() if line[:2] == "  "}
    assert set(words) == {"demo-owner", "demo-counter", "demo-press"}
    assert len(set(words.values())) == 3
    for username, password in words.items():
        response = Client().post(
            reverse("sign-in"), {"username": username, "password": password}, follow=False
        )
        assert response.status_code == 302


def test_a_reload_keeps_passwords_and_says_so_unless_new_ones_are_asked_for() -> None:
    load()
    kept = User.objects.get(username="demo-owner").password
    assert "keeps the password" in load()
    assert User.objects.get(username="demo-owner").password == kept
    assert "keeps the password" not in load(new_passwords=True)
    assert User.objects.get(username="demo-owner").password != kept


def test_an_account_of_another_shop_is_not_taken_over(shop: Shop) -> None:
    user = User.objects.create_user("demo-owner")
    Membership.objects.create(user=user, shop=shop)
    with pytest.raises(CommandError, match="demo-owner works in another shop"):
        load()
    assert not Shop.objects.filter(is_demo=True).exists()


def test_answers_to_what_was_changed_go_with_the_reload() -> None:
    load()
    kept = {r.pk for r in Ranking.objects.all()}
    one = Ranking.objects.get(bowler__name=PEOPLE[0].name)
    one.pk, one.inputs_key = None, "0" * 64
    one.save()
    load()
    assert {r.pk for r in Ranking.objects.all()} == kept
