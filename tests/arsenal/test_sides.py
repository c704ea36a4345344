"""Two balls beside one another: the engine's numbers and words, and the page."""

from __future__ import annotations

import html
import itertools
import math
import uuid
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from django.contrib.auth.models import User
from django.test import Client

from arsenal import engine
from arsenal.engine.one_choice import one_of
from arsenal.engine.side_by_side import FETCHED, _cheapest, _lines, _order, _playable
from arsenal.models import PhoneLink
from arsenal.phone.sheets import MOST_SHEETS
from arsenal.sides.forms import SidesForm
from bowlers.models import Bowler
from physics.errors import InputError
from proshop.models import Shop
from tests.arsenal import questions, records
from tests.furnished import furnish

ASKED = questions.question()
FIRST = ASKED["bag"][0]["id"]


def beside(one: engine.Asked, other: engine.Asked, **look: Any) -> dict[str, Any]:
    return engine.side_by_side(ASKED, [one, other], engine.Look(**look))


def of(**changes: Any) -> engine.Asked:
    return engine.Asked("bag", FIRST, **changes)


def test_a_ball_beside_itself_differs_in_nothing() -> None:
    found = beside(of(), of())
    assert found["differences"] == []
    assert found["said"] == []
    for one, other in found["numbers"].values():
        assert one == other


def test_a_rougher_surface_turns_sooner_and_comes_in_higher() -> None:
    """Common practice, no source: sanded reads sooner and stronger than polished, on oil."""
    found = beside(of(surface="polished"), of(surface="500"))
    numbers = found["numbers"]
    assert numbers["entry_board"][1] > numbers["entry_board"][0]
    assert numbers["skid"][1] < numbers["skid"][0]
    assert "entry_board" in found["differences"]


def test_on_its_own_line_each_finds_the_pocket() -> None:
    found = beside(of(surface="polished"), of(surface="500"), own_lines=True)
    for board in found["numbers"]["entry_board"]:
        assert 16 < board < 20
    assert found["lines"][0] != found["lines"][1]


def test_moving_together_moves_the_line_and_not_its_direction() -> None:
    still, moved = (beside(of(), of(), boards=boards)["lines"][0] for boards in (0.0, 3.0))
    assert moved["laydown_board"] - still["laydown_board"] == pytest.approx(3, abs=0.1)
    assert moved["arrow_board"] - still["arrow_board"] == pytest.approx(3, abs=0.6)


def test_faster_is_lighter_and_fresh_differs_from_burnt() -> None:
    """A faster ball spends less of its turn (common practice, no source)."""
    slow, fast = (beside(of(), of(), pace_mph=pace)["numbers"] for pace in (-1.0, 1.0))
    assert fast["entry_board"][0] < slow["entry_board"][0]
    fresh = beside(of(), of(), games=0)
    burnt = beside(of(), of(), games=30)
    assert fresh["condition"] != burnt["condition"]
    assert fresh["oil"] != burnt["oil"]


@pytest.mark.parametrize(
    ("ball", "field"),
    [
        (engine.Asked("bag", 10**6), "ball"),
        (engine.Asked("bag", FIRST, layout=99), "layout"),
        (engine.Asked("bag", FIRST, surface="care-magic"), "surface"),
        (engine.Asked("bag", FIRST, surface="velvet"), "surface"),
    ],
)
def test_what_isn_t_there_is_refused_by_name(ball: engine.Asked, field: str) -> None:
    with pytest.raises(InputError) as refused:
        beside(of(), ball)
    assert refused.value.field == field


def test_words_say_what_is_larger_and_by_how_much() -> None:
    found = beside(of(surface="polished"), of(surface="500"))
    assert len(found["said"]) == 3
    name = found["differences"][0]
    one, other = found["numbers"][name]
    measure = engine.SIDE_MEASURES[name]
    does = measure.more if other > one else measure.less
    assert does in found["said"][0]


def test_no_line_to_the_pocket_is_refused_by_the_balls_name() -> None:
    ones: Any = [SimpleNamespace(name="Hornbeam"), SimpleNamespace(name="Rowan")]
    lanes: Any = [
        SimpleNamespace(best_line=lambda seed, line=line: line)
        for line in ((20.0, 2.0, 0.4), (math.nan, math.nan, 0.0))
    ]
    with pytest.raises(InputError) as refused:
        _lines(ones, lanes, engine.Look(own_lines=True))
    assert (refused.value.field, refused.value.value) == ("line", "Rowan")
    assert _lines(ones, lanes, engine.Look(boards=1.5)) == [(21.5, 2.0)] * 2


def test_what_one_of_both_hasnt_got_is_no_difference() -> None:
    one = dict.fromkeys(engine.SIDE_MEASURES, 10.0)
    other = {**one, "hook": None, "revs": 100.0}
    assert _order([one, other]) == ["revs"]


def test_a_ball_that_cant_be_drilled_is_left_out_of_a_night() -> None:
    broken = questions.owned(2, "Rowan", "solid", "1000", layout={})
    asked = questions.question(bag=[broken, questions.owned(1, "Hornbeam", "solid", "1000")])
    found = _playable(asked, [engine.Asked("bag", n) for n in (2, 1)])
    assert [one.ball for one in found] == ["Hornbeam"]


def test_a_ball_is_thrown_as_its_care_would_leave_it() -> None:
    worn = questions.owned(1, "Hornbeam", "solid", "1000", games=60)
    asked = questions.question(bag=[worn])
    as_is, restored = (
        one_of(asked, engine.Asked("bag", 1, surface=done)) for done in ("", "care-restore")
    )
    fresh = one_of(questions.question(), engine.Asked("bag", 1))
    assert (as_is.done, restored.done) == ("", "with its 1000 grit finish restored")
    rough = [one.option.closure.scale_um for one in (as_is, restored, fresh)]
    assert rough[0] < rough[1] == pytest.approx(rough[2])


def test_the_cheapest_row_of_balls_is_found() -> None:
    """Against every row of balls there is."""
    values = np.random.default_rng(3).uniform(0.3, 0.7, (4, 3))

    def worth(row: tuple[int, ...]) -> float:
        changes = sum(a != b for a, b in itertools.pairwise(row))
        gained = sum(values[k, i] for k, i in enumerate(row))
        return float(gained - FETCHED * changes)

    best = max(itertools.product(range(3), repeat=4), key=worth)
    assert tuple(_cheapest(values)) == best


def test_a_night_is_played_on_the_oil_the_games_leave() -> None:
    plan = engine.night_plan(ASKED, 0)
    assert [game["game"] for game in plan["games"]] == [1, 2, 3]
    assert len({game["state"] for game in plan["games"]}) == 3
    assert plan["planned"] >= plan["same_ball"] - 1e-9
    assert engine.night_plan(ASKED | {"bag": []}, 0)["games"] == []


@pytest.fixture
def bowler(shop: Shop, staff: User) -> Bowler:
    furnish(shop, staff)
    return Bowler.objects.get()


def test_the_page_opens_on_the_bag_and_answers_in_parts(
    bowler: Bowler, staff_client: Client
) -> None:
    there = f"/customers/{bowler.pk}/side-by-side/"
    page = staff_client.get(there).content.decode()
    assert "What differs, what matters most first" in page
    ball = bowler.bag.get().pk
    asked = {"a_ball": f"bag-{ball}", "b_ball": f"bag-{ball}", "b_surface": "500", "way": "own"}
    part = staff_client.get(there, asked, headers={"HX-Request": "true"})
    assert "<html" not in part.content.decode()
    assert "b_surface=500" in part["HX-Replace-Url"]


@pytest.mark.parametrize(
    "wrong",
    [{"a_ball": "bag-999999"}, {"a_ball": "x"}, {"on": "77"}, {"boards": "nan"}, {"way": "up"},
     {"a_layout": "-1"}, {"b_surface": "<script>"}],
)  # fmt: skip
def test_a_wrong_address_is_told_and_breaks_nothing(
    bowler: Bowler, staff_client: Client, wrong: dict[str, str]
) -> None:
    answer = staff_client.get(f"/customers/{bowler.pk}/side-by-side/", wrong)
    assert answer.status_code == 200
    assert "pick again above" in answer.content.decode()


def test_the_night_is_a_part_of_the_page(bowler: Bowler, staff_client: Client) -> None:
    part = staff_client.get(f"/customers/{bowler.pk}/side-by-side/night/?on=0").content.decode()
    assert "Start with" in part


def shown_for(bowler: Bowler, client: Client, **asked: str) -> Any:
    there = f"/customers/{bowler.pk}/side-by-side/"
    token = {"form_token": str(uuid.uuid4())}
    return client.post(f"{there}show/", {**asked, **token}, headers={"HX-Request": "true"})


def phone_page(bowler: Bowler, client: Client) -> str:
    link = PhoneLink.objects.get(bowler=bowler)
    return client.get(f"/mine/{link.token}/").content.decode()


def picked(bowler: Bowler) -> dict[str, str]:
    ball = f"bag-{bowler.bag.get().pk}"
    return {"a_ball": ball, "b_ball": ball, "b_surface": "500"}


def test_a_night_is_put_on_the_phone_page_in_words(
    bowler: Bowler, staff_client: Client, stranger_client: Client
) -> None:
    bowler.phone_sheets.all().delete()
    answer = shown_for(bowler, staff_client, night="1", on="0")
    assert "phone page" in answer.content.decode()
    (sheet,) = bowler.phone_sheets.all()
    assert len(sheet.lines) == 3
    ball = bowler.bag.get().spec.model.name
    assert sheet.lines[0].startswith("Game 1, lanes ")
    assert ball in sheet.lines[0]
    page = phone_page(bowler, stranger_client)
    assert all(html.escape(line) in page for line in [sheet.heading, *sheet.lines, sheet.closing])


def test_two_balls_are_put_on_the_phone_page_with_no_surface_in_play(
    bowler: Bowler, staff_client: Client, stranger_client: Client
) -> None:
    bowler.phone_sheets.all().delete()
    for _ in range(2):
        shown_for(bowler, staff_client, **picked(bowler))
    # The same two again take the place of what was there.
    (sheet,) = bowler.phone_sheets.all()
    assert sheet.version == 2
    assert "between sessions" in sheet.closing
    assert sheet.lines[-1] in html.unescape(phone_page(bowler, stranger_client))


def test_what_was_put_there_is_taken_off_again(
    bowler: Bowler, staff_client: Client, stranger_client: Client
) -> None:
    sheet = bowler.phone_sheets.get()
    assert sheet.lines[0] in phone_page(bowler, stranger_client)
    assert sheet.heading in staff_client.get(f"/customers/{bowler.pk}/phone/").content.decode()
    staff_client.post(f"/phone-sheets/{sheet.pk}/off/")
    assert sheet.lines[0] not in phone_page(bowler, stranger_client)


def test_a_full_page_says_so_and_a_wrong_pick_shows_nothing(
    bowler: Bowler, staff_client: Client
) -> None:
    for number in range(MOST_SHEETS - 1):
        records.phone_sheet(bowler, heading=f"Night {number}")
    answer = shown_for(bowler, staff_client, **picked(bowler))
    assert answer.status_code == 422
    assert "take one off there first" in answer.content.decode()
    wrong = shown_for(bowler, staff_client, **{**picked(bowler), "a_ball": "bag-999999"})
    assert "Pick again" in wrong.content.decode()
    assert bowler.phone_sheets.count() == MOST_SHEETS


def test_without_scripts_it_leads_to_the_page_s_own_page(
    bowler: Bowler, staff_client: Client
) -> None:
    there = f"/customers/{bowler.pk}/side-by-side/show/"
    answer = staff_client.post(there, {"night": "1", "on": "no number"})
    assert answer["Location"] == f"/customers/{bowler.pk}/phone/"


def test_how_both_are_thrown_is_said_in_words() -> None:
    asked = {"boards": "2", "pace": "-1", "way": "own"}
    form = SidesForm(ASKED, asked)
    assert form.is_valid(), form.errors
    told = form.how().split(", ", 1)
    assert told[0] == "Each on its own best line"
    assert told[1].startswith("feet and target, boards: ")
    assert told[1].endswith(", pace −1 mph")
    assert (form.look().boards, form.look().pace_mph) == (2.0, -1.0)
    still = SidesForm(ASKED, {})
    assert still.is_valid()
    assert still.how() == "Both on A’s line"


def refusing(*_: Any) -> Any:
    raise InputError("line", "Alder", "a ball that some line brings to the pocket here")


REFUSED = "Line must be a ball that some line brings to the pocket here."


def test_what_the_engine_refuses_is_told_on_the_page_and_put_nowhere(
    bowler: Bowler, staff_client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("arsenal.engine.side_by_side", refusing)
    monkeypatch.setattr("arsenal.engine.night_plan", refusing)
    sheets = bowler.phone_sheets.count()
    there = f"/customers/{bowler.pk}/side-by-side/"
    for address in (there, f"{there}night/?on=0"):
        assert REFUSED in staff_client.get(address).content.decode()
    for asked in (picked(bowler), {"night": "1", "on": "0"}):
        answer = shown_for(bowler, staff_client, **asked)
        assert (answer.status_code, REFUSED in answer.content.decode()) == (422, True)
    plain = staff_client.post(f"{there}show/", {"night": "1", "on": "0"}, follow=True)
    assert plain.redirect_chain[0][0] == there
    assert REFUSED in plain.content.decode()
    assert bowler.phone_sheets.count() == sheets


def test_with_no_ball_or_no_fitting_nothing_is_put_on_the_phone_page(
    bowler: Bowler, staff_client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    sheets = bowler.phone_sheets.count()
    with monkeypatch.context() as patched:
        patched.setattr("arsenal.engine.night_plan", lambda *_: {"games": []})
        answer = shown_for(bowler, staff_client, night="1", on="0")
    assert "There is no ball in the bag to plan with" in answer.content.decode()
    bowler.fittings.all().delete()
    answer = shown_for(bowler, staff_client, night="1", on="0")
    assert answer.status_code == 422
    assert "record isn’t complete any more" in answer.content.decode()
    assert bowler.phone_sheets.count() == sheets
