"""The catalogue and the shelf, as staff use them."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from arsenal.catalogue.services import FEW, by_weight
from arsenal.models import BallModel, BallSpec, StockBall
from proshop.models import Shop
from tests.arsenal import records

SPEC = {
    "weight_lb": "15",
    "rg_low_in": "2.48",
    "differential_in": "0.05",
    "intermediate_differential_in": "0.012",
}


def model_values(*specs: dict[str, str], **changes: str) -> dict[str, str]:
    values = {
        "name": "Alder",
        "cover": "solid",
        "factory_finish": "2000",
        "price": "179,95",
        "lead_days": "7",
        "orderable": "on",
        "specs-TOTAL_FORMS": str(len(specs)),
        "specs-INITIAL_FORMS": "0",
        **changes,
    }
    for n, spec in enumerate(specs):
        values |= {f"specs-{n}-{name}": value for name, value in spec.items()}
    return values


def test_a_model_is_added_with_its_figures_by_weight(staff_client: Client, shop: Shop) -> None:
    light = {**SPEC, "weight_lb": "14", "rg_low_in": "2.52"}
    sent = staff_client.post(reverse("ball-model-add"), model_values(SPEC, light))
    model = BallModel.objects.get()
    assert sent.url == model.get_absolute_url()  # type: ignore[attr-defined]
    assert (model.shop, str(model.price)) == (shop, "179.95")
    assert [s.weight_lb for s in model.specs.all()] == [15, 14]
    assert model.history.count() == 1
    assert BallSpec.history.count() == 2
    page = staff_client.get(sent.url)  # type: ignore[attr-defined]
    assert "2.480" in page.content.decode()


@pytest.mark.parametrize(
    ("spec", "says"),
    [
        ({"rg_low_in": "2.3"}, "Low RG must be between 2.43 and 2.8 in."),
        ({"rg_low_in": "2.81"}, "Low RG must be between 2.43 and 2.8 in."),
        ({"differential_in": "0.5"}, "Differential must be between 0 and 0.08 in."),
        (
            {"intermediate_differential_in": "0.06"},
            "Intermediate differential can’t exceed the differential, 0.05 in.",
        ),
        ({"weight_lb": "17"}, "Weight must be between 6 and 16 lb."),
        ({"weight_lb": ""}, "Weight is missing: give a whole number from 6 to 16 lb."),
        ({"rg_low_in": "1e99"}, "Low RG must be a number"),
    ],
)
def test_impossible_figures_are_refused_and_kept(
    staff_client: Client, spec: dict[str, str], says: str
) -> None:
    page = staff_client.post(
        reverse("ball-model-add"), model_values({**SPEC, **spec}, notes="Ünïcode ✓")
    )
    text = page.content.decode()
    assert says in text
    assert "Ünïcode ✓" in text
    assert all(f'value="{v}"' in text for v in spec.values() if v)
    assert not BallModel.objects.exists()


def test_a_weight_met_twice_is_refused_on_its_row(staff_client: Client) -> None:
    page = staff_client.post(reverse("ball-model-add"), model_values(SPEC, SPEC))
    assert "15 lb has a row already" in page.content.decode()


def test_a_model_needs_a_weight(staff_client: Client) -> None:
    page = staff_client.post(reverse("ball-model-add"), model_values())
    assert "at least 1" in page.content.decode()
    assert not BallModel.objects.exists()


def test_a_tampered_form_is_answered_not_broken(staff_client: Client) -> None:
    for count in ("", "x", "-1", "5000", "9" * 30):
        values = model_values(SPEC) | {"specs-TOTAL_FORMS": count}
        assert staff_client.post(reverse("ball-model-add"), values).status_code == 200
    assert staff_client.get(f"/models/{'9' * 40}/").status_code == 404
    assert staff_client.get(f"{reverse('stock-ball-add')}?spec=999999999").status_code == 404
    assert not BallModel.objects.exists()


def test_a_name_is_given_once_a_shop(staff_client: Client, shop: Shop, other_shop: Shop) -> None:
    records.ball_model(other_shop)
    assert staff_client.post(reverse("ball-model-add"), model_values(SPEC)).status_code == 302
    page = staff_client.post(reverse("ball-model-add"), model_values(SPEC))
    assert "“Alder” is in the catalogue already" in page.content.decode()


def test_a_form_sent_twice_adds_one_model(staff_client: Client) -> None:
    page = staff_client.get(reverse("ball-model-add"))
    values = model_values(SPEC, form_token=records.token_in(page))
    first = staff_client.post(reverse("ball-model-add"), values)
    second = staff_client.post(reverse("ball-model-add"), values)
    assert first.url == second.url  # type: ignore[attr-defined]
    assert BallModel.objects.count() == 1


def edited(page: Any, **changes: str) -> dict[str, Any]:
    values = records.form_values(page, page.context["form"], page.context["specs"])
    return {**values, **changes}


def test_a_stale_edit_is_told_and_keeps_what_was_typed(
    staff_client: Client, second_staff_client: Client, shop: Shop
) -> None:
    address = reverse("ball-model-edit", args=[records.ball_model(shop).pk])
    mine, theirs = staff_client.get(address), second_staff_client.get(address)
    second_staff_client.post(address, edited(theirs, price="150"))
    page = staff_client.post(address, edited(mine, price="199", **{"specs-0-rg_low_in": "2.6"}))
    text = page.content.decode()
    assert "Dana saved this record" in text or "dana" in text
    assert 'value="199"' in text
    assert str(BallModel.objects.get().price) == "150.00"
    assert BallSpec.objects.get().rg_low_in == 2.48


def test_a_weight_in_use_can_be_neither_removed_nor_turned_into_another(
    staff_client: Client, shop: Shop
) -> None:
    model = records.ball_model(shop, weights=(15, 14))
    spec = model.specs.get(weight_lb=15)
    records.stock_ball(shop, spec)
    address = reverse("ball-model-edit", args=[model.pk])
    page = staff_client.get(address)
    rows = page.context["specs"].forms
    used = next(f for f in rows if f.instance.pk == spec.pk).prefix
    free = next(f for f in rows if f.instance.pk != spec.pk).prefix
    removed = staff_client.post(address, edited(page, **{f"{used}-DELETE": "on"}))
    assert "can’t be removed" in removed.content.decode()
    turned = staff_client.post(address, edited(page, **{f"{used}-weight_lb": "16"}))
    assert "leave this row and add one for 16 lb" in turned.content.decode()
    gone = staff_client.post(address, edited(page, **{f"{free}-DELETE": "on"}))
    assert gone.status_code == 302
    assert [s.weight_lb for s in model.specs.all()] == [15]


def test_the_catalogue_is_searched_without_capitals_or_accents(
    staff_client: Client, shop: Shop, other_shop: Shop
) -> None:
    records.ball_model(shop, "Şimşir Ağacı")
    records.ball_model(shop, "Alder")
    records.ball_model(other_shop, "Simsir of another shop")
    page = staff_client.get(reverse("catalogue"), {"q": "SIMSIR agaci"})
    assert [m.name for m in page.context["page"]] == ["Şimşir Ağacı"]
    nothing = staff_client.get(reverse("catalogue"), {"q": "zzz 💥 %_'"})
    assert "No ball model is called that" in nothing.content.decode()


def test_the_catalogue_costs_the_same_queries_however_long(
    staff_client: Client, shop: Shop, django_assert_num_queries: Any
) -> None:
    for name in ("Alder", "Birch", "Cedar"):
        model = records.ball_model(shop, name, weights=(15, 14))
        records.stock_ball(shop, model.specs.get(weight_lb=15))
    # Session, user, membership; then the count, the models and their specs.
    with django_assert_num_queries(6):
        page = staff_client.get(reverse("catalogue"))
    assert [m.on_shelf for m in page.context["page"]] == [1, 1, 1]


def test_empty_pages_say_what_to_do_first(staff_client: Client, shop: Shop) -> None:
    for name in ("catalogue", "shelf", "stock-ball-add"):
        page = staff_client.get(reverse(name)).content.decode()
        assert reverse("ball-model-add") in page, name
    records.ball_model(shop)
    page = staff_client.get(reverse("shelf")).content.decode()
    assert "The shelf is empty. Add the balls" in page


def stock_values(ball_spec: BallSpec, **changes: str) -> dict[str, str]:
    return {
        "spec": str(ball_spec.pk),
        "serial": "AB-1",
        "label_weight_lb": "15",
        "label_weight_oz": "2,5",
        "top_weight_oz": "3 1/4",
        "pin_to_cg_in": "2 1/2",
        "price": "170",
        **changes,
    }


def test_a_ball_is_put_on_the_shelf_with_its_own_label(staff_client: Client, shop: Shop) -> None:
    spec = records.ball_model(shop).specs.get()
    page = staff_client.get(reverse("stock-ball-add"))
    address = f"{reverse('stock-ball-add')}?spec={spec.pk}"
    assert f"?spec={spec.pk}" in page.content.decode()
    assert 'value="15"' in staff_client.get(address).content.decode()
    staff_client.post(address, stock_values(spec))
    ball = StockBall.objects.get()
    assert (ball.label_words, ball.top_weight_oz, ball.pin_to_cg_in) == ("15 lb 2.5 oz", 3.25, 2.5)
    assert ball.label_weight_in_lb == pytest.approx(15 + 2.5 / 16)
    assert "15 lb 2.5 oz" in staff_client.get(reverse("shelf")).content.decode()


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"label_weight_lb": "12"}, "The label reads 12 lb 2.5 oz but the ball chosen is 15 lb"),
        ({"label_weight_oz": "16"}, "Label ounces must be between 0 and 15.9 oz."),
        ({"top_weight_oz": "-1"}, "Top weight must be between 0 and 6 oz."),
        ({"pin_to_cg_in": "40"}, "Pin to CG must be between 0 and 6 in."),
        ({"price": "-5"}, "Price must be between 0"),
        ({"spec": "999999"}, "Select a valid choice"),
    ],
)
def test_a_label_that_cannot_be_is_refused(
    staff_client: Client, shop: Shop, changes: dict[str, str], says: str
) -> None:
    spec = records.ball_model(shop).specs.get()
    address = f"{reverse('stock-ball-add')}?spec={spec.pk}"
    page = staff_client.post(address, stock_values(spec, **changes))
    assert says in page.content.decode()
    assert not StockBall.objects.exists()


def test_a_ball_is_sold_once_and_can_be_put_back(staff_client: Client, shop: Shop) -> None:
    ball = records.stock_ball(shop, records.ball_model(shop).specs.get())
    page = staff_client.get(reverse("shelf"))
    values = {"form_token": records.token_in(page), "record_version": "1", "state": "sold"}
    address = reverse("stock-ball-move", args=[ball.pk])
    staff_client.post(address, values)
    staff_client.post(address, values)
    ball.refresh_from_db()
    assert (ball.state, ball.version, ball.history.count()) == ("sold", 2, 2)
    assert "Alder" in staff_client.get(reverse("shelf"), {"state": "sold"}).content.decode()
    late = staff_client.post(address, {"record_version": "1", "state": "shelf"}, follow=True)
    assert "was changed meanwhile" in late.content.decode()
    staff_client.post(address, {"record_version": "2", "state": "shelf"})
    ball.refresh_from_db()
    assert ball.state == "shelf"


def test_a_state_that_cant_be_from_here_is_refused(staff_client: Client, shop: Shop) -> None:
    ball = records.stock_ball(shop, records.ball_model(shop).specs.get(), state="sold")
    address = reverse("stock-ball-move", args=[ball.pk])
    for state in ("promised", "returned", "lost", ""):
        told = staff_client.post(address, {"record_version": "1", "state": state}, follow=True)
        assert "can’t go there from here" in told.content.decode()
    assert StockBall.objects.get().state == "sold"


def test_a_promised_ball_is_kept_for_whom_it_was_promised_to(
    staff_client: Client, shop: Shop
) -> None:
    spec = records.ball_model(shop).specs.get()
    wren, other = records.customer(shop), records.customer(shop, name="Juniper Hale")
    ball = records.stock_ball(shop, spec, state="promised", promised_to=wren, serial="PR 1")
    assert [*StockBall.objects.kept_for(wren)] == [ball]
    assert not StockBall.objects.kept_for(other)
    for bowler, offered in ((wren, True), (other, False)):
        page = staff_client.get(reverse("drill-plan-add", args=[bowler.pk])).content.decode()
        assert (f"stock={ball.pk}" in page) == offered
        address = f"{reverse('drill-plan-add', args=[bowler.pk])}?stock={ball.pk}"
        assert staff_client.get(address).status_code == (200 if offered else 404)
    page = staff_client.get(reverse("shelf"), {"state": "promised"}).content.decode()
    assert "PR 1" in page
    assert "Wren Marsh" in page


def test_a_weight_customers_bowl_and_the_shelf_lacks_is_low(
    staff_client: Client, shop: Shop
) -> None:
    model = records.ball_model(shop, weights=(16, 15, 14, 12))
    specs = {spec.weight_lb: spec for spec in model.specs.all()}
    for name in ("Wren Marsh", "Juniper Hale"):
        records.owned_ball(records.customer(shop, name=name), specs[15])
    records.owned_ball(records.customer(shop, name="Spare"), specs[14], role="spares")
    records.owned_ball(records.customer(shop, name="Tern"), specs[12])
    records.stock_ball(shop, specs[15])
    for _ in range(FEW):
        records.stock_ball(shop, specs[12])
    records.stock_ball(shop, specs[16], state="promised")
    found = {row.weight_lb: row for row in by_weight(shop)}
    assert sorted(found) == [12, 15, 16], "14 lb is thrown at spares only and not stocked"
    assert (found[15].on_shelf, found[15].customers, found[15].is_low) == (1, 2, True)
    assert (found[12].on_shelf, found[12].is_low) == (2, False)
    assert (found[16].promised, found[16].on_shelf, found[16].is_low) == (1, 0, False)
    assert "fewer than 2 on the shelf" in staff_client.get(reverse("shelf")).content.decode()


@pytest.fixture
def addresses(shop: Shop) -> list[str]:
    model = records.ball_model(shop)
    ball = records.stock_ball(shop, model.specs.get())
    return [
        reverse("ball-model", args=[model.pk]),
        reverse("ball-model-edit", args=[model.pk]),
        reverse("stock-ball-edit", args=[ball.pk]),
        f"{reverse('stock-ball-add')}?spec={model.specs.get().pk}",
    ]


def test_another_shop_finds_nothing(addresses: list[str], other_staff_client: Client) -> None:
    assert [other_staff_client.get(a).status_code for a in addresses] == [404] * 4
    sell = reverse("stock-ball-move", args=[StockBall.objects.get().pk])
    assert other_staff_client.post(sell, {"record_version": "1"}).status_code == 404
    assert StockBall.objects.get().state == "shelf"


def test_staff_see_the_pages_and_strangers_are_sent_to_sign_in(
    addresses: list[str], staff_client: Client, stranger: Client
) -> None:
    for address in [*addresses, reverse("catalogue"), reverse("shelf")]:
        assert staff_client.get(address).status_code == 200, address
        assert "/sign-in/" in stranger.get(address).url  # type: ignore[attr-defined]


def test_a_model_renamed_alone_is_found_by_its_new_name(shop: Shop) -> None:
    model = records.ball_model(shop, "Alder")
    model.name, model.cover = "Süd Esche", "pearl"
    model.save(update_fields=["name"])
    model.refresh_from_db()
    assert (model.search_key, model.cover) == ("sud esche", "solid")
