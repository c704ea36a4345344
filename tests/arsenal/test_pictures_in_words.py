"""What a drawing shows is told in words or numbers beside it: nobody needs to see it."""

from __future__ import annotations

import html
import re

import pytest
from django.contrib.auth.models import User
from django.core.cache import cache
from django.test import Client
from django.urls import reverse

from arsenal.models import PhoneLink
from bowlers.models import Bowler
from proshop.models import Shop
from tests.arsenal import records
from tests.furnished import furnish

DRAWING = re.compile(r'<svg class="window-drawing.*?</svg>', re.DOTALL)
# What stands along the axis is its scale, and is no finding.
AXIS = ("tick", "end-words")


def words_of(markup: str) -> str:
    """What is read out, in one line: no drawings, no tags."""
    text = re.sub(r"<(svg|script|style)\b.*?</\1>", " ", markup, flags=re.DOTALL)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split())


def labels_of(drawing: str) -> list[tuple[str, str]]:
    """Kind and words of everything written into a drawing, parts of a label each for itself."""
    found = []
    for kind, inner in re.findall(r'<text class="([^"]+)"[^>]*>(.*?)</text>', drawing, re.DOTALL):
        parts = re.findall(r"<tspan[^>]*>(.*?)</tspan>", inner) or [inner]
        found += [(kind, html.unescape(part).strip()) for part in parts]
    return [(kind, text) for kind, text in found if kind not in AXIS and text]


def untold(section: str, drawing: str) -> list[str]:
    told = words_of(section).lower()
    wanted = []
    for _kind, text in labels_of(drawing):
        plain = text.lower().removesuffix("…").removesuffix(" boards").removeprefix("window ")
        plain = re.sub(r" (ft|m)$", "", plain)
        if plain not in told:
            wanted.append(text)
    return wanted


@pytest.fixture
def bowler(shop: Shop, staff: User) -> Bowler:
    cache.clear()
    furnish(shop, staff)
    found: Bowler = Bowler.objects.get()
    return found


@pytest.mark.parametrize("units", ["", "metric"])
@pytest.mark.parametrize("where", ["ranking", "phone"])
def test_the_window_rows(where: str, units: str, bowler: Bowler, staff_client: Client) -> None:
    staff_client.cookies["units"] = units
    if where == "phone":
        there = f"/mine/{PhoneLink.objects.get().token}/"
    else:
        there = reverse("ranking", args=[bowler.rankings.get().pk])
    page = staff_client.get(there).content.decode()
    sections = [one for one in re.split(r"<article|<section", page) if DRAWING.search(one)]
    assert len(sections) >= 2
    drawn = 0
    for section in sections:
        for drawing in DRAWING.findall(section):
            assert 'aria-hidden="true"' in drawing, "else it is read out twice"
            drawn += len(labels_of(drawing))
            assert untold(section, drawing) == []
    assert drawn > 6
    if where == "phone":
        told = words_of("".join(sections))
        assert ("metres of hook" in told, "feet of hook" in told) == (bool(units), not units)


def test_a_drawing_that_says_more_is_found_out() -> None:
    drawing = '<svg class="window-drawing"><text class="ball-label"><tspan>Elm</tspan></text></svg>'
    assert untold(f"<p>Alder</p>{drawing}", drawing) == ["Elm"]
    assert untold(f"<p>Elm</p>{drawing}", drawing) == []


def test_the_plate(shop: Shop, staff_client: Client) -> None:
    """Every name and distance on the maps is in the table that describes them."""
    bowler = records.customer(shop)
    records.fitting(bowler)
    ball = records.owned_ball(bowler, records.ball_model(shop).specs.get())
    page = staff_client.get(reverse("owned-ball-plate", args=[ball.pk])).content.decode()
    maps = re.findall(r'<svg class="plate-map".*?</svg>', page, re.DOTALL)
    assert len(maps) == 2
    table = words_of(page.split('id="plate-places"')[1].split("</section>")[0]).lower()
    for drawn in maps:
        assert 'aria-describedby="plate-places"' in drawn
        labels = [html.unescape(text) for text in re.findall(r"<text[^>]*>(.*?)</text>", drawn)]
        assert len(labels) > 4
        missing = [label for label in labels if label.lower().removesuffix(" in") not in table]
        assert missing == []


def test_the_oil(shop: Shop, staff_client: Client) -> None:
    condition = records.condition(records.house(shop))
    page = staff_client.get(condition.get_absolute_url()).content.decode()
    drawing = re.findall(r'<svg class="oil-picture".*?</svg>', page, re.DOTALL)[0]
    title = re.findall(r"<title[^>]*>(.*?)</title>", drawing)[0]
    assert f"Oil to {condition.length_ft:g} feet" in title
    assert re.search(r"[\d.]+ units where it is thickest", title)
