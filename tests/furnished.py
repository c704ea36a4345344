"""A shop with one of everything, and the addresses of every page about it."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import count
from typing import Any

from django.contrib.auth.models import User
from django.contrib.auth.tokens import default_token_generator
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode

from arsenal.models import BallModel, BowlerCondition, House, HouseLimit, Ranking
from arsenal.office.services import note
from bowlers.models import Bowler, CustomerMerge, Delivery, Fitting
from proshop.models import SentFile, Shop
from tests.arsenal import invented, records


@dataclass(frozen=True)
class Furnished:
    """One record of each kind, by the first part of the path of its pages."""

    by_path: dict[str, int | str]
    met: int

    def address(self, pattern: URLPattern, route: str) -> str:
        kwargs = {}
        for name in pattern.pattern.converters:
            first = route.split("/")[0]
            own = self.by_path.get(f"{first}/{name}", self.by_path.get(first))
            kwargs[name] = self.met if name == "met_pk" else own
        return reverse(str(pattern.name), kwargs=kwargs)


def _free(model: Any, shop: Shop, name: str) -> str:
    """The name, numbered where the shop has it already: it may have been furnished before."""
    taken = set(model.objects.filter(shop=shop).values_list("name", flat=True))
    numbered = (f"{name} {number}" for number in count(2))
    return name if name not in taken else next(one for one in numbered if one not in taken)


def furnish(shop: Shop, user: User) -> Furnished:
    bowler: Bowler = records.customer(shop, goal="Carry more", average=180)
    fitting = Fitting.objects.create(shop=shop, bowler=bowler, logged_by=user, status="finished")
    delivery = None
    for number in range(3):
        delivery = Delivery.objects.create(
            shop=shop,
            fitting=fitting,
            order=number + 1,
            speed_mph=17 + 0.25 * number,
            rev_rate_rpm=310 + 5 * number,
            rotation_deg=48,
            tilt_deg=13,
            pap_over_in=5,
            pap_up_in=0.5,
        )
    assert delivery is not None
    model = records.ball_model(shop, _free(BallModel, shop, "Alder"))
    spec = model.specs.get()
    stock = records.stock_ball(shop, spec)
    ball = records.owned_ball(bowler, spec)
    house = records.house(shop, _free(House, shop, "Quarry Lanes"))
    condition = records.condition(house)
    met = BowlerCondition.objects.create(
        shop=shop, bowler=bowler, condition=condition, times_a_season=30
    )
    seen = records.observation(ball, condition)
    result = invented.invented_result()
    result["customer"] = {"id": bowler.pk, "name": bowler.name}
    ranking = Ranking.objects.create(
        shop=shop,
        bowler=bowler,
        requested_by=user,
        status="done",
        progress=100,
        seed=1,
        model_version="invented",
        inputs={},
        inputs_key="0" * 64,
        result=result,
        asked_at=timezone.now(),
        started_at=timezone.now(),
        finished_at=timezone.now(),
    )
    limit, _ = HouseLimit.objects.get_or_create(
        shop=shop,
        rule_set="us-2020",
        limit="top_oz:over10",
        defaults={"value": 2.5, "reason": "Our league."},
    )
    link = records.phone_link(bowler)
    report = records.phone_report(ball, condition)
    sheet = records.phone_sheet(bowler)
    plan = records.drill_plan(bowler, spec, ball=ball, again=True)
    kinds: dict[str, Any] = {
        "customers": bowler,
        "grips": records.grip(bowler),
        "fittings": fitting,
        "deliveries": delivery,
        "models": model,
        "shelf": stock,
        "bag": ball,
        "houses": house,
        "conditions": condition,
        "rankings": ranking,
        "observations": seen,
        "rules": limit,
        "phone-reports": report,
        "phone-sheets": sheet,
        "plans": plan,
        "merges": CustomerMerge.objects.create(
            shop=shop,
            kept=bowler,
            gone_number=999_999,
            gone_name="Wren March",
            kept_said={"Name": bowler.name, "Phone": ""},
            gone_said={"Name": "Wren March", "Phone": "555 0142"},
            moved={"fittings": [1, 2]},
            left={"rankings": ["seed 1"]},
            merged_by=user,
        ),
        "people": user.memberships.get(shop=shop),
        "tickets": records.ticket(bowler, ball=ball),
        "files": SentFile.objects.create(
            shop=shop,
            sent_by=user,
            kind="customers",
            name="customers.csv",
            text="name,average (pins)\nJuniper Vale,180\nTom Okafor,900\n",
        ),
    }
    note(ranking)
    assert link.token is not None
    numbers = {path: record.pk for path, record in kinds.items()}
    # What a customer is asked about, and the link by which this person chooses a password.
    parts = {
        "customers/about": "thumb",
        "choose-password/uidb64": urlsafe_base64_encode(force_bytes(user.pk)),
        "choose-password/token": default_token_generator.make_token(user),
    }
    return Furnished({**numbers, "mine": link.token, **parts}, met.pk)


def patterns(resolver: Any = None, before: str = "") -> Iterator[tuple[URLPattern, str]]:
    """Every address of the site with its route."""
    for entry in (resolver or get_resolver()).url_patterns:
        route = before + str(entry.pattern)
        if isinstance(entry, URLResolver):
            yield from patterns(entry, route)
        else:
            yield entry, route
