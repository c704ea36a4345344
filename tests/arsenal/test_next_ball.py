"""The next-ball page: the ranking in its order, with words, filters and the strip."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from typing import Any

import plotly.graph_objects as go
import pytest
from django.http import QueryDict
from django.test import Client
from django.urls import reverse

from arsenal.advice import words
from arsenal.advice.charts import strip_figure
from arsenal.advice.choices import Choice, ChoiceFilter
from arsenal.advice.models import Ranking
from arsenal.engine import words as press
from arsenal.templatetags.advice import percent
from bowlers.models import Bowler
from tests.arsenal.advice_cast import Engine, engine, work_off, wren
from tests.arsenal.invented import invented_result

__all__ = ["engine", "work_off", "wren"]


@pytest.fixture
def page(
    wren: Bowler, engine: Engine, staff_client: Client, work_off: Callable[[], None]
) -> Callable[..., str]:
    def shown(query: str = "", **wanted: Any) -> str:
        engine.result = invented_result(**wanted)
        address = reverse("next-ball", args=[wren.pk])
        staff_client.post(address)
        work_off()
        return str(staff_client.get(address + query).content.decode())

    return shown


def ranks(text: str) -> list[int]:
    return [int(rank) for rank in re.findall(r'id="choice-(\d+)"', text)]


def test_choices_stand_in_falling_gain_with_their_reasons(page: Callable[..., str]) -> None:
    text = page()
    assert ranks(text) == [1, 2, 3, 4, 5]
    gains = [float(gain) for gain in re.findall(r"<b>\+?([\d.]+)</b>\s*<span>points", text)]
    assert gains == sorted(gains, reverse=True)
    assert text.count("opens a window nothing owned reaches") == 5


def test_a_choice_tells_kind_layout_surface_cost_and_certainty_in_words(
    page: Callable[..., str],
) -> None:
    text = page().replace("\u00a0", " ")
    assert "To order" in text
    assert "50° × 4 1/2 in × 30°" in text
    assert "189 USD" in text
    assert "Almost sure to gain, 97 %" in text
    assert "estimate" in text


def test_an_order_that_means_nothing_is_called_too_close(page: Callable[..., str]) -> None:
    text = page()
    assert text.count("Too close to call against the next one") == 1
    assert "Too close to call: the first choice beats the second in only 61 % of the draws." in text


def test_the_gain_has_its_interval_and_the_doubt_what_would_settle_it(
    page: Callable[..., str],
) -> None:
    text = page()
    assert "Gain in 80 % of the draws" in text
    assert "+5.1 to +10.1 points, middle +7.1" in text
    assert "Two more deliveries with rev rate: the chance of picking the wrong one falls" in text
    assert "Friction of the lanes at Long Meadow" in text


def test_nothing_needed_is_a_real_first_answer(page: Callable[..., str]) -> None:
    text = page(nothing_first=True, strip=False)
    first = text.split('id="choice-2"')[0]
    assert "Nothing needed" in first
    assert "Keep the bag as it is" in first
    assert "Every ball spends its turn" in first
    assert "80 % that no change shown would gain" in first


def test_choices_as_good_are_one_family(page: Callable[..., str]) -> None:
    text = page().replace("\u00a0", " ")
    assert "As good: 1 other" in text
    assert "60° × 4 1/2 in × 30°" in text


def test_what_was_ruled_out_is_listed_with_why(page: Callable[..., str]) -> None:
    text = page()
    assert "Ruled out: 2" in text
    assert "The track runs over the thumb hole." in text


def test_a_kind_can_be_picked_by_address_alone(page: Callable[..., str]) -> None:
    text = page("?kind=surface&kind=redrill")
    assert ranks(text) == [2, 4]
    assert "3 of 5 choices don&#x27;t pass" in text or "3 of 5 choices don't pass" in text


def test_a_budget_hides_what_costs_more(page: Callable[..., str]) -> None:
    assert ranks(page("?budget=80")) == [2, 4, 5]


def test_a_budget_that_is_no_amount_is_refused_and_hides_nothing(page: Callable[..., str]) -> None:
    text = page("?budget=cheap")
    assert "Budget must be an amount, such as 200." in text
    assert 'value="cheap"' in text
    assert ranks(text) == [1, 2, 3, 4, 5]


def test_an_unknown_kind_is_refused_and_hides_nothing(page: Callable[..., str]) -> None:
    assert ranks(page("?kind=lottery")) == [1, 2, 3, 4, 5]


def test_a_filter_that_nothing_passes_offers_the_way_back(page: Callable[..., str]) -> None:
    text = page("?kind=order&budget=1")
    assert ranks(text) == []
    assert "No choice passes." in text


def test_a_family_passes_by_the_one_of_it_that_passes() -> None:
    result = invented_result()
    result["choices"][0]["family"][0]["cost"]["amount"] = 50.0
    chosen = ChoiceFilter.of(result, QueryDict("kind=order&budget=60"))
    assert [choice.data["rank"] for choice in chosen.shown] == [1]
    assert chosen.shown[0].instead is not None
    assert chosen.shown[0].instead["cost"]["amount"] == 50.0


def test_care_says_what_to_do_and_when_the_rules_forbid_it(page: Callable[..., str]) -> None:
    text = page(care=True)
    care = text.split('id="choice-3"')[1].split("</article>")[0]
    assert "Care" in care
    assert "Draw the oil out and restore its 2000 grit finish" in care
    assert "during certified play the surface may not be altered" in care
    order = text.split('id="choice-1"')[1].split("</article>")[0]
    assert "certified play" not in order
    assert "local safety codes" in text


def test_care_can_be_filtered_by(page: Callable[..., str]) -> None:
    assert ranks(page("?kind=care", care=True)) == [3]


def test_filters_keep_the_ranks_of_the_whole_list() -> None:
    chosen = ChoiceFilter.of(invented_result(), QueryDict("kind=stock"))
    assert [choice.data["rank"] for choice in chosen.shown] == [3]
    assert chosen.hidden == 4


def test_plotly_is_loaded_only_where_a_strip_is_drawn(
    page: Callable[..., str], wren: Bowler, staff_client: Client
) -> None:
    assert "plotly-basic" in page()
    assert "plotly" not in staff_client.get(reverse("gaps", args=[wren.pk])).content.decode()


def test_the_strip_has_an_address_and_the_same_in_numbers(page: Callable[..., str]) -> None:
    text = page()
    ranking = Ranking.objects.get()
    assert f'data-figure="{reverse("ranking-strip", args=[ranking.pk])}"' in text
    strip = text.split('id="strip-heading"')[1]
    assert len(re.findall(r'<th scope="row">\s*\d+\s*</th>', strip)) >= 13
    assert "enters at board 17.4" in strip
    assert "leaves most often 10, 4-9 (estimate)" in strip


def test_the_figure_is_served_as_json_that_may_be_kept(
    page: Callable[..., str], staff_client: Client
) -> None:
    page()
    answer = staff_client.get(reverse("ranking-strip", args=[Ranking.objects.get().pk]))
    assert answer["Content-Type"] == "application/json"
    assert "private" in answer["Cache-Control"]
    assert "immutable" in answer["Cache-Control"]
    assert set(json.loads(answer.content)) == {"data", "layout"}


def test_a_ranking_without_a_strip_has_no_figure(
    page: Callable[..., str], staff_client: Client
) -> None:
    page(nothing_first=True, strip=False)
    address = reverse("ranking-strip", args=[Ranking.objects.get().pk])
    assert staff_client.get(address).status_code == 404


def drawn(strip: Mapping[str, Any] | None = None) -> Any:
    """The figure as plotly.js gets it; plotly's own objects refuse what isn't one."""
    figure = json.loads(json.dumps(strip_figure(strip or invented_result()["strip"])))
    checked = json.loads(go.Figure(figure).to_json())
    # Of the empty template they make one that says as little.
    checked["layout"]["template"] = {}
    assert checked == figure
    return figure


def test_the_figure_fills_what_lies_between_the_two_shots() -> None:
    figure = drawn()
    lines = [trace for trace in figure["data"] if trace["name"] != "oil"]
    paths = [trace for trace in lines if trace.get("yaxis") != "y2"]
    turns = [trace for trace in lines if trace.get("yaxis") == "y2"]
    assert len(paths) == len(turns) == 2
    assert paths[1]["fill"] == "tonexty"
    assert paths[0]["x"] == paths[1]["x"] == turns[0]["x"]
    assert paths[0]["x"][-1] == 60
    assert paths[0]["y"][-1] == pytest.approx(17.4, abs=0.05)  # the board it was made to enter at
    assert all(0 <= share <= 100 for turn in turns for share in turn["y"])


def test_the_figure_lies_on_its_side_and_names_colours_by_token() -> None:
    layout = drawn()["layout"]
    assert layout["xaxis"]["range"] == [0, 60]
    assert layout["yaxis"]["range"] == [0.5, 39.5]
    assert "layout" not in layout["template"]
    text = json.dumps(drawn())
    assert "#" not in text
    assert "var(--proposed)" in text


def test_oil_is_drawn_only_where_there_is_film() -> None:
    strip = invented_result()["strip"]
    strip["oil"] = {
        "feet": [0.0, 10.0, 20.0],
        "boards": [4, 5, 6],
        "units": [[0.0, 5.0, 0.0], [0.0, 5.0, 0.0], [0.0, 0.0, 0.0]],
    }
    oil = [trace for trace in drawn(strip)["data"] if trace["name"] == "oil"]
    assert len(oil) == 1
    assert (min(filter(None, oil[0]["y"])), max(filter(None, oil[0]["y"]))) == (4.5, 5.5)
    assert max(feet for feet in oil[0]["x"] if feet is not None) == 20.0


@pytest.mark.parametrize(
    ("certainty", "said"),
    [
        (1.0, "almost sure to gain"),
        (0.9, "very likely to gain"),
        (0.7, "likely to gain"),
        (0.5, "could go either way"),
        (0.1, "more likely not to gain"),
    ],
)
def test_certainty_is_said_in_words(certainty: float, said: str) -> None:
    assert words.certainty_words(certainty) == said


@pytest.mark.parametrize(
    ("certainty", "said"),
    [(1.0, "over 98 %"), (0.97, "97 %"), (0.5, "50 %"), (0.0, "under 2 %")],
)
def test_no_certainty_claims_more_than_its_draws_can_tell(certainty: float, said: str) -> None:
    assert words.certainty_percent(certainty) == said


@pytest.mark.parametrize(("share", "said"), [(0.476, "48 %"), (0.4749, "47 %"), (None, "")])
def test_shares_are_rounded_not_cut(share: float | None, said: str) -> None:
    assert percent(share) == said


@pytest.mark.parametrize(
    ("inches", "said"),
    [(4.5, "4 1/2"), (5.0, "5"), (3.375, "3 3/8"), (0.25, "1/4"), (4.3, "4.3"), (4.99, "4.99")],
)
def test_inches_are_said_in_eighths_where_they_are(inches: float, said: str) -> None:
    assert press.eighths(inches) == said


def test_strength_is_signed_boards() -> None:
    assert [words.boards(number) for number in (2.14, -0.3, 0.01)] == [
        "+2.1 boards",
        "−0.3 boards",
        "0 boards",
    ]


def test_the_certainty_of_a_tie_is_not_too_close_when_it_is_last() -> None:
    assert not Choice({"beats_next": None}).too_close
    assert Choice({"beats_next": 0.5}).too_close


def test_a_ranking_from_before_intervals_were_drawn_shows_none() -> None:
    data = invented_result()["choices"][0]
    assert Choice(data).interval == pytest.approx((5.1, 10.1, 7.1))
    old = {name: value for name, value in data.items() if name != "gain_interval"}
    assert Choice(old).interval is None


def test_entries_that_lie_apart_or_alone_stand_at_their_own_height() -> None:
    strip = invented_result()["strip"]
    near = [note["y"] for note in strip_figure(strip)["layout"]["annotations"]]
    assert near[1] - near[0] == pytest.approx(9)
    strip["shots"][0]["entry"]["board"] = 27.0
    apart = [note["y"] for note in strip_figure(strip)["layout"]["annotations"]]
    assert apart == [13.1, 27.0]
    alone = strip_figure({**strip, "shots": strip["shots"][:1]})["layout"]["annotations"]
    assert [note["y"] for note in alone] == [27.0]


def test_a_strength_that_isnt_known_has_no_words_and_a_stretch_of_no_length_one_number() -> None:
    assert words.boards(None) == ""
    assert words.boards(-1.25) == "−1.2 boards"
    assert words.feet([19.0, 19.02]) == "19.0"
    assert words.feet([19.0, 21.5]) == "19.0–21.5"
