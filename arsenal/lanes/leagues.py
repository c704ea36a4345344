"""What a customer of a kind of league meets, to begin with: one tap instead of a form a row.

Weeks and states are common practice, no source; what is different is changed afterwards.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.db import transaction
from django.db.models import Count

from arsenal import engine
from arsenal.lanes.models import BowlerCondition, Condition, House
from bowlers.models import Bowler
from physics.errors import InputError

HOUSE, CHALLENGE, SPORT = "house", "challenge", "sport"


@dataclass(frozen=True)
class Part:
    """Oil of one class, games bowled on it before them, and times a season."""

    oil: str
    games: int
    times: int


@dataclass(frozen=True)
class League:
    name: str
    label: str
    parts: tuple[Part, ...]


# Three games of a league of five a lane leave 15 games on it for those who bowl next.
SECOND_SHIFT = 15
LEAGUES: tuple[League, ...] = (
    League("one", "One league a week", (Part(HOUSE, 0, 33),)),
    League("second-shift", "A league on the second shift", (Part(HOUSE, SECOND_SHIFT, 33),)),
    League(
        "two",
        "Two leagues a week, early and late",
        (Part(HOUSE, 0, 33), Part(HOUSE, SECOND_SHIFT, 33)),
    ),
    League(
        "tournaments",
        "A league and tournaments",
        (Part(HOUSE, 0, 33), Part(CHALLENGE, 0, 6), Part(SPORT, 0, 4)),
    ),
    League("sport", "A sport league", (Part(SPORT, 0, 16),)),
    League("mornings", "Juniors or seniors, mornings", (Part(HOUSE, 0, 28),)),
)
BY_NAME = {league.name: league for league in LEAGUES}


class NoSuchOil(Exception):
    """The shop has no condition of a class that a league needs: ``args[0]`` names the classes."""

    @property
    def classes(self) -> list[str]:
        return list(self.args[0])


def usual_house(bowler: Bowler) -> House | None:
    """Where the customer bowls most, else where most of the shop's do; None without conditions."""
    houses = House.objects.for_shop(bowler.shop).filter(conditions__isnull=False)
    theirs = bowler.conditions.with_house().order_by("-times_a_season", "pk").first()
    if theirs is not None:
        home: House = theirs.condition.house
        return home
    most: House | None = (
        houses.annotate(met=Count("conditions__met_by", distinct=True))
        .order_by("-met", "name", "pk")
        .first()
    )
    return most


@transaction.atomic
def add_league(*, bowler: Bowler, league: League, house: House) -> list[BowlerCondition]:
    """Put what such a league meets on a customer's list; what is listed already stays as it is.

    The conditions are the house's most met ones of each class; of a class it hasn't got, those of
    the shop's other houses, as tournaments travel. Raises NoSuchOil, and adds nothing, where the
    shop has none.
    """
    found = _most_met_by_class(bowler, house)
    missing = sorted({part.oil for part in league.parts} - set(found))
    if missing:
        raise NoSuchOil(missing)
    there = set(bowler.conditions.values_list("condition_id", "games_on_oil"))
    return [
        BowlerCondition.objects.create(
            shop=bowler.shop,
            bowler=bowler,
            condition=found[part.oil],
            games_on_oil=part.games,
            times_a_season=part.times,
        )
        for part in league.parts
        if (found[part.oil].pk, part.games) not in there
    ]


def _most_met_by_class(bowler: Bowler, house: House) -> dict[str, Condition]:
    conditions: Iterable[Condition] = (
        Condition.objects.for_shop(bowler.shop)
        .with_house()
        .annotate(met=Count("met_by"))
        .order_by("-met", "name", "pk")
    )
    found: dict[str, Condition] = {}
    for condition in sorted(conditions, key=lambda each: each.house_id != house.pk):
        try:
            found.setdefault(engine.condition_numbers(condition)["class"], condition)
        except InputError:
            continue  # Its page says what is wrong with it.
    return found
