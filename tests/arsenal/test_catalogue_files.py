"""Catalogue and shelf as CSV files."""

from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.test import Client

from arsenal.models import BallModel, BallSpec, StockBall
from proshop.files import services
from proshop.files.kinds import Plan, kind_of
from proshop.files.reading import read, write
from proshop.models import SentFile, Shop
from tests.arsenal import records

MODELS, SHELF = kind_of("models"), kind_of("shelf")
HEAD = (
    "name,cover,finish from the maker,price,weight (lb),low RG (in),differential (in),"
    "intermediate differential (in)\n"
)
MAPLE = HEAD + "Maple,solid reactive,2000 grit,189.5,15,2.49,0.05,0.012\nMaple,,,,14,2.5,.045,\n"
BALLS = "model,weight (lb),serial number,label ounces (oz),top weight (oz),pin to CG (in)\n"


def plan(kind: str, shop: Shop, text: str) -> Plan:
    return kind_of(kind).plan(shop, read(text, kind_of(kind).columns))


def words(kind: str, shop: Shop, text: str) -> list[str]:
    return [fault.words for fault in plan(kind, shop, text).faults]


def bring_in(kind: str, shop: Shop, staff: User, text: str) -> SentFile:
    sent = services.keep_file(shop=shop, user=staff, kind=kind_of(kind), name="a.csv", text=text)
    fingerprint = services.plan_of(sent).fingerprint
    return services.import_file(sent=sent, fingerprint=fingerprint, user=staff)


def test_a_model_comes_with_its_weights(shop: Shop, staff: User) -> None:
    sent = bring_in("models", shop, staff, MAPLE)
    assert (sent.added, sent.changed) == (2, 0)
    model = BallModel.objects.get()
    assert (model.name, model.search_key, model.cover) == ("Maple", "maple", "solid")
    assert (model.factory_finish, model.price, model.lead_days) == ("2000", Decimal("189.50"), 7)
    figures = ("weight_lb", "rg_low_in", "differential_in", "intermediate_differential_in")
    assert list(model.specs.order_by("weight_lb").values_list(*figures)) == [
        (14, 2.5, 0.045, 0.0),
        (15, 2.49, 0.05, 0.012),
    ]
    assert [spec.history.count() for spec in model.specs.all()] == [1, 1]
    assert model.history.get().history_change_reason == "From the file a.csv"


def test_a_file_merges_into_the_catalogue(shop: Shop, staff: User) -> None:
    bring_in("models", shop, staff, MAPLE)
    bring_in("models", shop, staff, HEAD + "Ash,pearl,polished,150,15,2.5,0.03,0\n")
    text = (
        "name,price,discontinued,weight (lb),low RG (in),differential (in)\n"
        "maple,199,yes,15,2.48,\n"
        "MAPLE,,,16,2.47,0.051\n"
    )
    sent = bring_in("models", shop, staff, text)
    assert (sent.added, sent.changed, sent.same) == (1, 1, 0)
    maple = BallModel.objects.get(name="Maple")
    assert (maple.price, maple.discontinued, maple.version) == (Decimal(199), True, 2)
    assert list(maple.specs.values_list("weight_lb", "rg_low_in")) == [
        (16, 2.47),
        (15, 2.48),
        (14, 2.5),
    ]
    assert maple.specs.get(weight_lb=15).history.count() == 2
    assert maple.specs.get(weight_lb=16).history.count() == 1
    # What a file doesn't name stays as it is.
    assert BallModel.objects.get(name="Ash").version == 1


def test_faults_of_a_catalogue_are_told_where_they_are(shop: Shop, staff: User) -> None:
    bring_in("models", shop, staff, MAPLE)
    text = HEAD + (
        "Maple,pearl,,,15,,,\n"
        "Maple,solid,,,14,,0.01,0.02\n"
        "Maple,,,,14,,,\n"
        "Maple,,,,,2.5,,\n"
        "Maple,,,,13,,0.04,\n"
        "Ash,,polished,150,15,2.5,0.03,0\n"
        ",solid,,,,,,\n"
        "Oak,solid,360 grit,1,5,2.9,-1,\n"
    )
    assert words("models", shop, text) == [
        "Line 9, weight (lb): “5” must be a whole number from 6 to 16 lb.",
        "Line 9, low RG (in): “2.9” must be a number from 2.43 to 2.8 in.",
        "Line 9, differential (in): “-1” must be a number from 0 to 0.08 in.",
        "Line 3, cover: “solid” differs from line 2, “pearl reactive”: write the same in every row "
        "of a model.",
        "Line 4 is about this model at 14 lb, as line 3: keep one of the two.",
        "Line 5, weight (lb): is missing: write a whole number from 6 to 16 lb.",
        "Line 6, low RG (in): is missing: write a number from 2.43 to 2.8 in.",
        "Line 7, cover: is missing: write one of: “solid reactive”, “hybrid reactive”, “pearl "
        "reactive”, “urethane”, “polyester”.",
        "Line 8, name: is missing: write text, 80 characters at most.",
    ]


def test_swapped_differentials_are_pointed_out(shop: Shop) -> None:
    (fault,) = words("models", shop, HEAD + "Ash,pearl,polished,150,15,2.5,0.03,0.05\n")
    assert fault == (
        "Line 2, intermediate differential (in): “0.05” can’t exceed the differential, 0.03 in: "
        "check whether the two are swapped."
    )


def test_a_ball_comes_to_the_shelf(shop: Shop, staff: User) -> None:
    bring_in("models", shop, staff, MAPLE)
    bring_in("shelf", shop, staff, BALLS + "maple,15,7F3A21,2.5,2.75,2.5\nMaple,14,7F3A22,,3,3\n")
    first, second = StockBall.objects.order_by("serial")
    assert (str(first.spec), first.label_words) == ("Maple, 15 lb", "15 lb 2.5 oz")
    assert (first.top_weight_oz, first.pin_to_cg_in, first.state) == (2.75, 2.5, "shelf")
    # Left out, the price is the catalogue's and the label's pounds are the weight.
    assert (second.price, second.label_weight_lb) == (Decimal("189.50"), 14)


def test_a_ball_is_found_by_number_or_serial(shop: Shop, staff: User) -> None:
    bring_in("models", shop, staff, MAPLE)
    bring_in("shelf", shop, staff, BALLS + "Maple,15,7F3A21,2,3,3\nMaple,14,,,3,3\n")
    bare = StockBall.objects.get(serial="")
    text = f"ball number,serial number,weight (lb),state\n,7f3a21,,sold\n{bare.pk},X9,15,\n"
    found = plan("shelf", shop, text)
    # The label of the second still says 14 lb: within a pound of the weight chosen, as by form.
    assert [row.action for row in found.rows] == ["change", "change"]
    bring_in("shelf", shop, staff, text)
    assert StockBall.objects.get(serial__iexact="7F3A21").state == "sold"
    bare.refresh_from_db()
    assert (bare.spec.weight_lb, bare.serial, bare.version) == (15, "X9", 2)


def test_faults_of_a_shelf_are_told_where_they_are(
    shop: Shop, other_shop: Shop, staff: User
) -> None:
    bring_in("models", shop, staff, MAPLE)
    spec = records.ball_model(other_shop).specs.get()
    foreign = records.stock_ball(other_shop, spec)
    text = (
        "ball number,model,weight (lb),serial number,label pounds (lb),top weight (oz),"
        "pin to CG (in)\n"
        f"{foreign.pk},,,,,,\n"
        ",Elm,15,A1,,3,3\n"
        ",Maple,12,A2,,3,3\n"
        ",Maple,15,A3,12,3,3\n"
        ",Maple,15,A4,,,3\n"
        ",Maple,15,A5,,3,3\n"
        ",Maple,15,A5,,3,3\n"
    )
    assert words("shelf", shop, text) == [
        f"Line 2, ball number: “{foreign.pk}” is no ball of this shop’s shelf: leave the cell "
        "empty to add one.",
        "Line 3, model: “Elm” isn’t in the catalogue: add the model there, by form or by file, "
        "then send this.",
        "Line 4, weight (lb): “12” isn’t a weight of Maple in the catalogue: it has 14, 15 lb. "
        "Add it there.",
        "Line 5, label pounds (lb): “12” can’t be right. The label reads 12 lb 0 oz but the ball "
        "chosen is 15 lb: check the label, or choose the other weight.",
        "Line 6, top weight (oz): is missing: write a number from 0 to 6 oz.",
        "Line 8 is about the same ball as line 7: keep one of the two.",
    ]


def test_a_ball_without_a_serial_is_worth_a_look(shop: Shop, staff: User) -> None:
    bring_in("models", shop, staff, MAPLE)
    (note,) = plan("shelf", shop, BALLS + "Maple,15,,,3,3\n").notes
    assert note.words == (
        "Line 2 has no serial number: brought in again it would add another ball."
    )


def test_a_serial_that_a_spreadsheet_rewrote_is_worth_a_look(shop: Shop, staff: User) -> None:
    bring_in("models", shop, staff, MAPLE)
    rows = "Maple,15,7.00E+10,,3,3\nMaple,15,7E10,,3,3\nMaple,15,7E1A,,3,3\n"
    (note,) = plan("shelf", shop, BALLS + rows).notes
    assert note.words == (
        "Line 2, serial number: “7.00E+10” looks like a serial that a spreadsheet took for a "
        "number: compare it with the ball."
    )


def test_files_taken_out_change_nothing_when_brought_in(shop: Shop, staff: User) -> None:
    bring_in("models", shop, staff, MAPLE)
    spec = BallSpec.objects.get(weight_lb=15)
    BallSpec.objects.filter(pk=spec.pk).update(rg_low_in=2.4912345678, differential_in=0.1 / 3)
    BallModel.objects.create(
        shop=shop, name="=Elm", cover="pearl", factory_finish="500", price=1, notes="a\r\n-b"
    )
    records.stock_ball(shop, spec, serial="=1+1", label_weight_oz=Decimal("2.25"))
    records.stock_ball(
        shop, spec, serial="", state="returned", cg_off_line_in=-0.25, top_weight_oz=2.7182818
    )
    for kind, rows in ((MODELS, 3), (SHELF, 2)):
        found = plan(kind.slug, shop, write(kind.columns, kind.records(shop)))
        assert (found.faults, found.added, found.changed) == ([], [], [])
        assert found.same == rows


@pytest.mark.parametrize("kind", ["models", "shelf"])
def test_another_shop_sees_nothing_of_it(
    kind: str, shop: Shop, staff: User, other_staff_client: Client
) -> None:
    bring_in("models", shop, staff, MAPLE)
    bring_in("shelf", shop, staff, BALLS + "Maple,15,7F3A21,2,3,3\n")
    out = other_staff_client.get(f"/{kind}/file/all.csv").content.decode("utf-8-sig")
    assert len(out.splitlines()) == 1


def test_a_serial_on_two_balls_and_a_mark_off_the_ball_are_told(shop: Shop, staff: User) -> None:
    bring_in("models", shop, staff, MAPLE)
    spec = BallSpec.objects.get(weight_lb=15)
    first, second = (records.stock_ball(shop, spec, serial=serial) for serial in ("A1", "a1"))
    text = (
        "model,weight (lb),serial number,top weight (oz),pin to CG (in),CG off the line (in)\n"
        "Maple,15,A1,3,3,\n"
        "Maple,15,A2,3,0.25,1\n"
    )
    twice, off = words("shelf", shop, text)
    assert f"is on 2 balls: write the ball number, {first.pk} or {second.pk}." in twice
    assert off.startswith("Line 3, CG off the line (in): “1” can’t be right.")


def test_a_promised_ball_stays_promised_when_its_file_says_so(shop: Shop, staff: User) -> None:
    bring_in("models", shop, staff, MAPLE)
    wren = records.customer(shop)
    ball = records.stock_ball(
        shop, BallSpec.objects.get(weight_lb=15), serial="A1", state="promised", promised_to=wren
    )
    bring_in("shelf", shop, staff, "serial number,price\nA1,99\n")
    ball.refresh_from_db()
    assert (ball.price, ball.state, ball.promised_to) == (Decimal(99), "promised", wren)
    bring_in("shelf", shop, staff, "serial number,state\nA1,on the shelf\n")
    ball.refresh_from_db()
    assert (ball.state, ball.promised_to) == ("shelf", None)
