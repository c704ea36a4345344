"""The demo: one command, as new each time, and something real on every page."""

import datetime
from collections.abc import Callable
from io import StringIO
from typing import Any

import pytest
from django.apps import apps
from django.contrib.auth.models import User
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse

from arsenal import engine
from arsenal.demo.people import ASKED_FIRST, NO_BALL, NO_FITTING, NOWHERE_YET, PEOPLE, STROKER
from arsenal.models import (
    BallModel,
    BallSpec,
    BowlerCondition,
    Condition,
    Cover,
    House,
    LayoutNotation,
    OwnedBall,
    Ranking,
    StockBall,
)
from bowlers.engine import fitting_in_use
from bowlers.models import Bowler, Delivery, Fitting
from proshop.models import Membership, Shop
from tests.arsenal import records
from tests.furnished import patterns

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

    load()

    changed.refresh_from_db()
    assert (changed.goal, changed.average) == (PEOPLE[0].goal, PEOPLE[0].average)
    assert not Bowler.objects.filter(name="Somebody Added").exists()
    assert not BallModel.objects.filter(name="Not a Tree of Ours").exists()
    assert {model: model.objects.for_shop(shop).count() for model in wanted} == wanted


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


def test_every_kind_of_customer_is_there() -> None:
    load()
    people: dict[str, Bowler] = {bowler.name: bowler for bowler in Bowler.objects.all()}
    kinds = {person.kind: people[person.name] for person in PEOPLE}
    assert len(kinds) == len(PEOPLE) >= 18
    assert all(bowler.is_demo and bowler.goal and bowler.complaint for bowler in people.values())
    assert kinds["left-handed"].hand == "left"
    assert (kinds["two-handed, no thumb"].hands, kinds["two-handed, no thumb"].thumb) == (
        "two",
        "none",
    )
    assert kinds["nine balls and still a gap"].bag.count() == 9
    plastic = kinds["beginner with one plastic ball"].bag.get()
    assert plastic.spec.model.cover == Cover.POLYESTER
    assert kinds["misses corners with one hybrid"].bag.get().spec.model.cover == Cover.HYBRID
    assert kinds["junior outgrowing a light ball"].bag.get().spec.weight_lb <= 10
    assert kinds["needs the surface back"].bag.get().games_since_finish > 60
    assert fitting_in_use(kinds["a fitting half done"]) is None
    assert kinds["a fitting half done"].fittings.drafts().exists()
    assert not kinds["no fitting yet"].fittings.exists()
    assert not kinds["no conditions yet"].conditions.exists()
    assert not kinds["no ball of their own"].bag.exists()
    notations = set(OwnedBall.objects.values_list("layout_notation", flat=True))
    assert notations == set(LayoutNotation.values)


def test_several_came_more_than_once() -> None:
    load()
    often = [b for b in Bowler.objects.all() if b.fittings.finished().count() > 1]
    assert len(often) >= 5
    today = datetime.date.today()
    assert all(f.fitted_on <= today for f in Fitting.objects.all())


def test_the_catalogue_shelf_and_lanes_are_whole() -> None:
    load()
    shop = demo_shop()
    assert BallModel.objects.for_shop(shop).count() >= 20
    assert set(BallModel.objects.values_list("cover", flat=True)) == set(Cover.values)
    assert StockBall.objects.for_shop(shop).on_shelf().count() >= 20
    conditions = Condition.objects.for_shop(shop).with_house()
    assert conditions.count() == 8
    assert {engine.condition_numbers(c)["class"] for c in conditions} == {
        "house",
        "challenge",
        "sport",
    }
    assert len({c.house.lane_surface for c in conditions}) == 2
    for condition in conditions:
        numbers = engine.condition_numbers(condition)
        assert numbers["volume_ml"] == pytest.approx(condition.volume_ml, abs=0.5)
        assert numbers["length_ft"] == pytest.approx(condition.length_ft, abs=0.05)


def test_every_record_would_pass_its_own_form() -> None:
    load()
    kinds: tuple[Any, ...] = (
        *(BallModel, BallSpec, StockBall, House, Condition, Bowler, Fitting, Delivery),
        *(OwnedBall, BowlerCondition),
    )
    for kind in kinds:
        for record in kind.objects.all():
            record.full_clean()


def test_one_ball_alone_breaks_a_rule() -> None:
    load()
    warned = {
        (ball.bowler.name, warning)
        for ball in OwnedBall.objects.with_drilling()
        for warning in engine.drilled_numbers(ball)["warnings"]
    }
    assert [(name, "thumb weight" in words) for name, words in warned] == [(STROKER.name, True)]


def test_every_customer_with_all_three_can_be_asked_about() -> None:
    load()
    missing = {}
    for bowler in Bowler.objects.all():
        try:
            engine.inputs_for(bowler)
        except engine.Missing as incomplete:
            missing[bowler.name] = len(incomplete.wanted)
    assert set(missing) == {NO_FITTING.name, "Josh Tanner", NOWHERE_YET.name, NO_BALL.name}


def test_a_few_rankings_wait_in_line() -> None:
    load()
    assert {r.bowler.name for r in Ranking.objects.filter(status="waiting")} == set(ASKED_FIRST)


def test_answers_to_what_was_changed_go_with_the_reload() -> None:
    load()
    kept = {r.pk for r in Ranking.objects.all()}
    one = Ranking.objects.get(bowler__name=PEOPLE[0].name)
    one.pk, one.inputs_key = None, "0" * 64
    one.save()
    load()
    assert {r.pk for r in Ranking.objects.all()} == kept


# Addresses that only take a form.
TAKE_FORMS = {
    *("sign-out", "fitting-finish", "fitting-reopen", "owned-ball-retire", "stock-ball-sell"),
    *("delivery-save", "delivery-keep", "delivery-again", "delivery-drop", "delivery-restore"),
    *("delivery-confirm", "ranking-strip", "sign-in"),
}


@pytest.mark.slow
def test_every_page_of_the_demo_opens(sign_in: Callable[[User], Client]) -> None:
    load()
    client = sign_in(User.objects.get(username="demo-counter"))
    by_path: dict[str, list[int]] = {
        "customers": [b.pk for b in Bowler.objects.all()],
        "fittings": [f.pk for f in Fitting.objects.all()],
        "deliveries": [d.pk for d in Delivery.objects.all()[:3]],
        "models": [m.pk for m in BallModel.objects.all()],
        "shelf": [s.pk for s in StockBall.objects.all()[:5]],
        "bag": [b.pk for b in OwnedBall.objects.all()],
        "houses": [h.pk for h in House.objects.all()],
        "conditions": [c.pk for c in Condition.objects.all()],
        "rankings": [r.pk for r in Ranking.objects.all()],
    }
    opened = 0
    for pattern, route in patterns():
        if pattern.name in TAKE_FORMS:
            continue
        names = list(pattern.pattern.converters)
        for pk in by_path[route.split("/")[0]] if names else [0]:
            kwargs = dict.fromkeys(names, pk)
            if "met_pk" in kwargs:
                met = BowlerCondition.objects.filter(bowler=pk).first()
                if met is None:
                    continue
                kwargs["met_pk"] = met.pk
            address = reverse(str(pattern.name), kwargs=kwargs)
            answer = client.get(address, follow=True)
            assert answer.status_code == 200, address
            opened += 1
    assert opened > 200
