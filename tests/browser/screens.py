"""Pictures of every page, with the demo in it: three sizes, light and dark (``make screenshots``).

Not a test of the suite, but run as one: it needs the suite's site and browser. Pictures go to the
folder SCREENSHOTS names, ``var/screens`` where it names none; with README=yes the few that the
README shows are made anew beside this file. ONLY=gaps,next-ball takes those pages alone.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth.models import User
from django.db import models
from django.urls import NoReverseMatch
from PIL import Image

from arsenal import models as records
from arsenal.advice import services
from arsenal.demo.load import load
from arsenal.engine import night_plan
from arsenal.office.services import make_report
from arsenal.phone.services import new_link, prepare
from arsenal.phone.sheets import show_night
from bowlers.models import Bowler, Delivery, Fitting, Grip
from proshop.models import Shop
from tests.arsenal.advice_cast import work_off
from tests.browser.conftest import Visitor
from tests.browser.test_every_page import OF_THE_OWNER, PAGES, SEATS, show
from tests.furnished import Furnished

__all__ = ["work_off"]

pytestmark = pytest.mark.django_db(transaction=True)

FOLDER = Path(os.environ.get("SCREENSHOTS") or settings.BASE_DIR / "var" / "screens")
README = Path(__file__).parent / "pictures"
# What the README shows: page, size, theme, and how much of it from the top.
SHOWN = {
    "next-ball": ("desk", "light", 900),
    "sides": ("tablet", "light", 1400),
    "gaps": ("tablet", "dark", 1100),
    "phone-page": ("phone", "light", 1300),
    "drill-sheet": ("desk", "light", 1100),
}
# Pictures of the README are this wide at most.
WIDTH_PX = 1000
STRANGER = {"phone-page"}


def test_pictures_of_every_page(visit: Visitor, work_off: Callable[[], None]) -> None:
    loaded = load(make_password=lambda: "for these pictures only")
    work_off()
    furnished = _furnished(loaded.shop, loaded.staff[0])
    make_report(loaded.shop, at_once=True)
    only = set(filter(None, os.environ.get("ONLY", "").split(",")))
    FOLDER.mkdir(parents=True, exist_ok=True)
    left_out = []
    for pattern, route in PAGES:
        name = str(pattern.name)
        if only and name not in only:
            continue
        try:
            address = furnished.address(pattern, route)
        except (KeyError, NoReverseMatch):
            left_out.append(name)
            continue
        who = loaded.staff[0] if name in OF_THE_OWNER else loaded.staff[1]
        _take(visit, None if name in STRANGER else who, address, name)
    taken = len(list(FOLDER.glob("*.png")))
    print(
        f"\n{taken} pictures in {FOLDER}; nothing in the demo for: {', '.join(left_out) or 'none'}"
    )
    assert taken


def _take(visit: Visitor, who: User | None, address: str, name: str) -> None:
    for seat, screen in SEATS.items():
        page = visit(who, address, **screen)
        page.wait_for_load_state("networkidle")
        for scheme in ("light", "dark"):
            show(page, scheme)
            path = FOLDER / f"{name}-{seat}-{scheme}.png"
            page.screenshot(path=str(path), full_page=True)
            if os.environ.get("README") == "yes" and SHOWN.get(name, ())[:2] == (seat, scheme):
                _keep(path, name, SHOWN[name][2] * screen.get("device_scale_factor", 1))
        page.context.close()


def _keep(path: Path, name: str, height: int) -> None:
    """The top of a picture, small enough for the README."""
    with Image.open(path) as picture:
        top = picture.convert("RGB").crop((0, 0, picture.width, min(height, picture.height)))
        width = min(WIDTH_PX, top.width)
        small = top.resize((width, round(top.height * width / top.width)))
        small.save(README / f"{name}.webp", quality=80, method=6)


def _furnished(shop: Shop, user: User) -> Furnished:
    """The customer of the demo of whom most is on record, and something of theirs for each path."""
    bowler = _fullest(shop)
    ranking = records.Ranking.objects.for_bowler(bowler).done().newest_first().first()
    link = records.PhoneLink.objects.filter(bowler=bowler).first() or new_link(bowler)
    link.shown_name, link.shares_next_ball = bowler.name.split()[0], True
    link.renew_token()
    link.save()
    if ranking is not None:
        prepare(ranking)
        plan = night_plan(services.question_for(bowler).inputs, 0)
        show_night(bowler=bowler, plan=plan, user=user)
    of_theirs: dict[str, models.QuerySet[Any]] = {
        "grips": Grip.objects.filter(bowler=bowler),
        "fittings": Fitting.objects.filter(bowler=bowler),
        "deliveries": Delivery.objects.filter(fitting__bowler=bowler),
        "bag": records.OwnedBall.objects.filter(bowler=bowler),
        "rankings": records.Ranking.objects.filter(bowler=bowler, status="done"),
        "observations": records.Observation.objects.filter(bowler=bowler),
        "plans": records.DrillPlan.objects.filter(shop=shop),
        "tickets": records.Ticket.objects.filter(shop=shop),
        "models": records.BallModel.objects.filter(shop=shop),
        "shelf": records.StockBall.objects.filter(shop=shop),
        "houses": records.House.objects.filter(shop=shop),
        "conditions": records.Condition.objects.filter(met_by__bowler=bowler),
        "phone-reports": records.PhoneReport.objects.filter(bowler=bowler),
    }
    found = {path: rows.order_by("-pk").first() for path, rows in of_theirs.items()}
    numbers: dict[str, int | str] = {path: row.pk for path, row in found.items() if row is not None}
    met = bowler.conditions.order_by("pk").first()
    assert link.token is not None
    assert met is not None
    return Furnished({**numbers, "customers": bowler.pk, "mine": link.token}, met.pk)


def _fullest(shop: Shop) -> Bowler:
    """Ranked, with the most balls; the first of those by number."""
    ranked = Bowler.objects.for_shop(shop).filter(rankings__status="done")
    fullest: Bowler | None = (
        ranked.annotate(balls=models.Count("bag")).order_by("-balls", "pk").first()
    )
    assert fullest is not None
    return fullest
