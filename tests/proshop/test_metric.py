"""Metric by a switch: exact factors, sentences, and that nothing stored or typed changes."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django.contrib.auth.models import User
from django.template import Context, Template
from django.test import Client
from django.urls import reverse

from arsenal.models import Ranking
from bowlers.models import Bowler
from proshop import metric
from proshop.models import Shop
from tests.furnished import furnish


@pytest.fixture
def chosen() -> Iterator[None]:
    token = metric.CHOSEN.set(True)
    yield
    metric.CHOSEN.reset(token)


@pytest.mark.usefixtures("chosen")
@pytest.mark.parametrize(
    ("unit", "number", "wanted"),
    # NIST Special Publication 811 (2008), appendix B.8: the inch, foot, mile and pound exactly.
    [
        ("in", 1, 25.4),
        ("ft", 1, 0.3048),
        ("mph", 1, 1.609344),
        ("lb", 1, 0.45359237),
        ("oz", 16, 453.59237),
        ("microinches", 1_000_000 / 25.4, 1000.0),
    ],
)
def test_factors_are_the_defined_ones(unit: str, number: float, wanted: float) -> None:
    assert metric.shown(number, unit).number == pytest.approx(wanted, rel=1e-12)


SENTENCES = [
    ("it is 1 ft rollier (hook length 23 ft)", "it is 0.3 m rollier (hook length 7.0 m)"),
    ("a window of 20.4–24.9 ft", "a window of 6.22–7.59 m"),
    ("from 3.5 to 8.0 microinches", "from 0.09 to 0.20 µm"),
    ("flares more: 8.3 in against 7.8 in.", "flares more: 211 mm against 198 mm."),
    ("it flares 5.8 in for 6.4 in, with", "it flares 147 mm for 163 mm, with"),
    ("keeps more speed: 17.4 mph against 16.9 mph.",
     "keeps more speed: 28.0 km/h against 27.2 km/h."),
    # Names, layouts, fractions and the preposition stay.
    ("On Challenge, 44 ft, medium with Wild Service, 15 lb", None),
    ("40° × 4 1/2 in × 25° and 50° × 4 in × 30°", None),
    ("in 5 in ten games 3 in a row", None),
    ("2.5 boards, 480 rpm, 4.6°, 24 mL", None),
]  # fmt: skip


@pytest.mark.usefixtures("chosen")
@pytest.mark.parametrize(("said", "wanted"), SENTENCES)
def test_sentences_are_shown_in_metric_and_names_stay(said: str, wanted: str | None) -> None:
    assert metric.sentence(said) == (wanted or said)


@pytest.mark.parametrize(("said", "wanted"), SENTENCES)
def test_without_the_switch_nothing_changes(said: str, wanted: str | None) -> None:
    assert metric.sentence(said) == said


def drawn(tag: str, **values: object) -> str:
    return Template("{% load house %}" + tag).render(Context(values))


def test_a_number_is_drawn_with_its_unit() -> None:
    assert drawn('{% measure v "mph" 1 %}', v=17.44) == "17.4\xa0mph"
    assert drawn('{% measure v "oz" 2 %}', v=-0.431) == "−0.43\xa0oz"
    assert drawn('{% measure v "in" 3 plus=True %}', v=0.012) == "+0.012\xa0in"
    assert drawn('{% measure v "in" 3 bare=True plus=True %}', v=0.0001) == ""
    assert drawn('{% measure v "°" 1 %}', v=4.62) == "4.6°"
    assert drawn('{% measure v "ft" 1 none="–" %}', v=None) == "–"


@pytest.mark.usefixtures("chosen")
def test_a_number_is_drawn_in_metric() -> None:
    assert drawn('{% measure v "mph" 1 %}', v=17.44) == "28.1\xa0km/h"
    assert drawn('{% measure v "in" 3 %}', v=2.481) == "63.02\xa0mm"
    assert drawn('{% measure v "oz" 2 bare=True %}', v=-0.431) == "−12.2"
    assert drawn('{% measure v "ft" 1 %}', v=22.7) == "6.92\xa0m"
    assert drawn('{{ "feet"|unit }}') == "metres"
    assert drawn('{% measure v "boards" 1 %}', v=2.5) == "2.5\xa0boards"


@pytest.fixture
def bowler(shop: Shop, staff: User) -> Bowler:
    furnish(shop, staff)
    return Bowler.objects.get()


def test_the_switch_holds_in_this_browser_and_stores_nothing(
    bowler: Bowler, staff_client: Client, second_staff_client: Client
) -> None:
    there = f"/rankings/{Ranking.objects.get().pk}/"
    before = Ranking.objects.values().get()
    trade = staff_client.get(there).content.decode()
    assert "feet of hook" in trade
    assert "Show metric units" in trade
    answer = staff_client.post("/units/", {"units": "metric", "next": there})
    assert answer["Location"] == there
    shown = staff_client.get(there).content.decode()
    assert "metres of hook" in shown
    assert "feet of hook" not in shown
    assert "feet of hook" in second_staff_client.get(there).content.decode()
    assert Ranking.objects.values().get() == before
    staff_client.post("/units/", {"next": there})
    assert "feet of hook" in staff_client.get(there).content.decode()


def test_the_strip_s_figure_follows(bowler: Bowler, staff_client: Client) -> None:
    there = f"/rankings/{Ranking.objects.get().pk}/strip/"
    feet = staff_client.get(there).json()
    staff_client.post("/units/", {"units": "metric"})
    metres = staff_client.get(there).json()
    assert feet["layout"]["xaxis"]["range"] == [0, 60]
    assert metres["layout"]["xaxis"]["range"] == pytest.approx([0, 18.288])
    assert metres["layout"]["xaxis"]["title"]["text"] == "metres from the foul line"
    ends = [figure["data"][-1]["x"][-1] for figure in (feet, metres)]
    assert ends[1] == pytest.approx(0.3048 * ends[0], abs=0.001)


def test_what_is_typed_and_printed_stays_in_the_trade_s_units(
    bowler: Bowler, staff_client: Client
) -> None:
    form = f"/bag/{bowler.bag.get().pk}/edit/"
    sheet = f"/plans/{bowler.drill_plans.get().pk}/sheet/"
    typed, printed = (staff_client.get(there).content.decode() for there in (form, sheet))
    staff_client.post("/units/", {"units": "metric"})
    again = staff_client.get(form).content.decode()
    for box in ('value="15"', "(oz)", "(in)"):
        assert (box in typed) is (box in again)
    assert "(oz)" in again
    assert " mm" not in staff_client.get(sheet).content.decode()
    assert " oz" in printed


@pytest.mark.parametrize("away", ["https://elsewhere.example/", "//elsewhere.example", ""])
def test_the_switch_leads_nowhere_else(staff_client: Client, away: str) -> None:
    assert staff_client.post("/units/", {"units": "metric", "next": away})["Location"] == "/"


@pytest.mark.parametrize("word", ["0", "home", "//elsewhere.example", "a\nb", "\0", "x y"])
def test_what_is_no_path_leads_home(word: str, staff_client: Client) -> None:
    answer = staff_client.post(reverse("units"), {"units": "metric", "next": word})
    assert (answer.status_code, answer["Location"]) == (302, reverse("home"))
