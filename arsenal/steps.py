"""The steps this app adds to a customer's page: their bag, the conditions they meet, advice, and
what was seen afterwards."""

from __future__ import annotations

from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format

from arsenal.advice import run
from arsenal.advice.models import Ranking
from arsenal.bag.bag_file import BagFile
from arsenal.bag.finding import by_serial, serials_of
from arsenal.catalogue.model_file import ModelFile
from arsenal.catalogue.shelf_file import ShelfFile
from arsenal.demo.choosing import follow_in_demo
from arsenal.merged import count_once, settle_met, settle_phone_links
from arsenal.office.services import note
from arsenal.phone.models import PhoneLink
from arsenal.phone.services import follow
from arsenal.tickets.books import money_of
from bowlers import finding, growth, hub
from bowlers.duplicates import merging
from bowlers.models import Bowler
from bowlers.privacy.erase import register_kept
from proshop.files.kinds import register


def weights_note(bowler: Bowler) -> str:
    """What a growing customer's balls weigh."""
    found = sorted({ball.label_weight_lb for ball in bowler.bag.in_use()})
    if not found:
        return ""
    weights = " and ".join(f"{weight} lb" for weight in found)
    return (
        f"The bag holds {weights}: ask whether that is still heavy enough, and let them swing the "
        "next pound before drilling it."
    )


def bag_step(bowler: Bowler) -> hub.Step:
    balls = bowler.bag.in_use().count()
    return hub.Step(
        title="Bag",
        done=balls > 0,
        said=(
            f"{balls} {'ball' if balls == 1 else 'balls'} in use."
            if balls
            else "No balls yet: add what the customer owns and how it is drilled."
        ),
        href=reverse("bag" if balls else "bag-add", args=[bowler.pk]),
        action="Open the bag" if balls else "Add a ball",
    )


def conditions_step(bowler: Bowler) -> hub.Step:
    met = bowler.conditions.count()
    return hub.Step(
        title="Conditions",
        done=met > 0,
        said=(
            f"Meets {met} {'condition' if met == 1 else 'conditions'}."
            if met
            else "No conditions yet: say where the customer bowls and how often."
        ),
        href=reverse("customer-conditions", args=[bowler.pk]),
        action="Open the conditions" if met else "Add conditions",
    )


def advice_step(bowler: Bowler) -> hub.Step:
    last = Ranking.objects.for_bowler(bowler).done().light().newest_first().first()
    return hub.Step(
        title="Gaps and next ball",
        done=last is not None,
        said=(
            f"Last worked out on {date_format(timezone.localtime(last.finished_at))}."
            if last
            else "Where the bag has gaps, and which ball, layout and surface would fill them."
        ),
        href=reverse("gaps", args=[bowler.pk]),
        action="Open gaps and next ball" if last else "Find the gaps",
    )


def drilling_step(bowler: Bowler) -> hub.Step:
    waiting = bowler.drill_plans.unfinished().count()
    drilled = bowler.drill_plans.filter(state="drilled").count()
    said = f"{drilled} drilled here." if drilled else "Lay out what is to be drilled."
    return hub.Step(
        title="Drilling",
        done=waiting + drilled > 0,
        said=f"{waiting} not drilled yet." if waiting else said,
        href=reverse("drill-plans", args=[bowler.pk]),
        action="Open the plans" if waiting + drilled else "Plan a ball",
    )


def afterwards_step(bowler: Bowler) -> hub.Step:
    seen = bowler.observations.standing().count()
    return hub.Step(
        title="Afterwards",
        done=seen > 0,
        said=(
            f"{seen} {'evening' if seen == 1 else 'evenings'} seen on the lanes; the predictions "
            "have learnt from them."
            if seen
            else "What the balls did on the lanes: a minute’s entry, and the predictions learn."
        ),
        href=reverse("afterwards", args=[bowler.pk]),
        action="Open what was seen" if seen else "Log what was seen",
    )


def grip_links(bowler: Bowler) -> list[hub.Link]:
    """The balls whose holes may be copied into a grip, newest first."""
    drilled = bowler.bag.in_use().filter(holes__isnull=False).select_related("spec__model")
    return [
        hub.Link(f"Copy the grip of {ball}", reverse("grip-from-ball", args=[ball.pk]))
        for ball in drilled.distinct().order_by("-pk")
    ]


def phone_step(bowler: Bowler) -> hub.Step:
    link = PhoneLink.objects.filter(bowler=bowler).first()
    is_open = link is not None and link.is_open
    waiting = bowler.phone_reports.filter(status="waiting").count()
    said = "Their own page: what to start with, and what if it reads early or late."
    if link is not None and is_open:
        said = f"Open until {date_format(link.good_until)}."
    if waiting:
        said += f" {waiting} {'report waits' if waiting == 1 else 'reports wait'} on Afterwards."
    return hub.Step(
        title="Phone page",
        done=is_open,
        said=said,
        href=reverse("phone-link", args=[bowler.pk]),
        action="Show its square" if is_open else "Open a page",
    )


def register_steps() -> None:
    run.when_done(note)
    run.when_done(follow)
    run.when_done(follow_in_demo)
    growth.register("weights", weights_note)
    merging.register("arsenal.BowlerCondition", settle_met)
    merging.register("arsenal.PhoneLink", settle_phone_links)
    merging.register_afterwards("gaps counted", count_once)
    register_kept("money", money_of)
    register(ModelFile())
    register(ShelfFile())
    register(BagFile())
    finding.register("serial", finding.Finder(hits=by_serial, told=serials_of))
    hub.register_grip_links("bag", grip_links)
    hub.register("bag", 20, bag_step)
    hub.register("conditions", 30, conditions_step)
    hub.register("advice", 40, advice_step)
    hub.register("drilling", 45, drilling_step)
    hub.register("afterwards", 50, afterwards_step)
    hub.register("phone", 60, phone_step)
