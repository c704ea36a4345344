"""Making, finding and ending links; what their pages show; reports on their way to the record."""

from __future__ import annotations

import hmac
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from django.db import IntegrityError, transaction
from django.utils import timezone

from arsenal import engine
from arsenal.advice.models import Ranking
from arsenal.advice.window_rows import Rows, window_rows
from arsenal.advice.words import kind_words, layout_words
from arsenal.afterwards.models import Observation
from arsenal.phone import words
from arsenal.phone.models import (
    SEASON_DAYS,
    LanesAdvice,
    PhoneLink,
    PhoneReport,
    PhoneSheet,
    digest,
)
from physics.errors import InputError

if TYPE_CHECKING:
    from django.contrib.auth.models import User

    from arsenal.phone.forms import LinkForm, ReportForm
    from bowlers.models import Bowler

# Reports one link may leave waiting: a page left open in a bag sends no hundreds.
MOST_WAITING = 20


class TooMany(Exception):
    """As many reports wait for the shop as may."""


@dataclass(frozen=True)
class Then:
    """What to do if a ball reads otherwise: a heading, what that looks like, and the steps."""

    heading: str
    looks_like: str
    steps: list[str]


@dataclass(frozen=True)
class OnCondition:
    """One condition of the phone page."""

    name: str
    house: str
    ball: str
    line: str
    thens: list[Then]


@dataclass(frozen=True)
class Page:
    """Everything the phone page shows, and nothing else of the record."""

    shown_name: str
    shop: str
    rows: Rows | None
    conditions: list[OnCondition]
    sheets: list[PhoneSheet]
    care: list[str]
    next_ball: str
    worked_out_at: datetime | None
    takes_reports: bool


@transaction.atomic
def make_link(*, bowler: Bowler, form: LinkForm, user: User) -> PhoneLink:
    """Make a customer's link, or another in place of one that is there."""
    link: PhoneLink = form.save(commit=False)
    link.bowler, link.shop, link.made_by = bowler, bowler.shop, user
    link.renew_token()
    if link._state.adding:
        link.save()
    else:
        link.save_checked(form.cleaned_data["record_version"])
    return link


def new_link(bowler: Bowler) -> PhoneLink:
    """A link as it is first offered: for a season, without a name."""
    until = timezone.localdate() + timedelta(days=SEASON_DAYS)
    return PhoneLink(bowler=bowler, shop=bowler.shop, good_until=until)


def revoke(link: PhoneLink) -> None:
    link.revoked_at = timezone.now()
    link.save_checked(link.version)


def link_of(token: str) -> PhoneLink | None:
    """The link of a token, open or not; None if there never was one.

    Found by digest, so that what is compared in the database says nothing of the token; compared
    once more in constant time.
    """
    wanted = digest(token)
    links = PhoneLink.objects.select_related("bowler", "shop")
    link: PhoneLink | None = links.filter(token_digest=wanted).first()
    if link is None or not hmac.compare_digest(link.token_digest, wanted):
        return None
    return link


def note_opened(link: PhoneLink) -> None:
    """The day it was last opened, for the shop; no more of when or where from."""
    today = timezone.localdate()
    if link.opened_on != today:
        PhoneLink.objects.filter(pk=link.pk).update(opened_on=today)


def ranking_for(bowler: Bowler) -> Ranking | None:
    """The newest finished ranking: what changed since is the shop's to work out."""
    done = Ranking.objects.for_bowler(bowler).done()
    ranking: Ranking | None = done.newest_first().select_related("lanes_advice").first()
    return ranking


def prepare(ranking: Ranking) -> LanesAdvice | None:
    """Work out what to do on the lanes, once a ranking; None where its inputs no longer serve."""
    try:
        return ranking.lanes_advice
    except LanesAdvice.DoesNotExist:
        pass
    try:
        rows = engine.on_the_lanes(ranking.inputs)
    except (InputError, KeyError):
        # Kept by an earlier release, in a form this one doesn't read.
        return None
    advice, _ = LanesAdvice.objects.get_or_create(ranking=ranking, defaults={"rows": rows})
    return advice


def follow(ranking: Ranking) -> None:
    """Have the page of a customer with an open link follow a ranking that is done."""
    link = PhoneLink.objects.filter(bowler=ranking.bowler_id).first()
    if link is not None and link.is_open:
        prepare(ranking)


def page_of(link: PhoneLink) -> Page:
    """What a link opens. Nothing is computed here: a page on a phone doesn't wait."""
    ranking = ranking_for(link.bowler)
    result: dict[str, Any] = (ranking.result if ranking else None) or {}
    advice = getattr(ranking, "lanes_advice", None)
    choices = result.get("choices", [])
    return Page(
        shown_name=link.shown_name,
        shop=link.shop.name,
        rows=window_rows(result) if result else None,
        conditions=[
            _on_condition(row, link.bowler.hand) for row in (advice.rows if advice else [])
        ],
        sheets=list(link.bowler.phone_sheets.all()),
        care=[
            f"{choice['ball']}: {_lower(choice['work'])}."
            for choice in choices
            if choice["kind"] == "care" and choice["gain"] > 0
        ],
        next_ball=_next_ball(choices) if link.shares_next_ball else "",
        worked_out_at=ranking.finished_at if ranking else None,
        takes_reports=link.takes_reports,
    )


def _on_condition(row: dict[str, Any], hand: str) -> OnCondition:
    start = row["start"]
    if start is None:
        return OnCondition(row["condition"], row["house"], "", "", [])
    thens = [
        Then(
            words.READS[lane],
            words.LOOKS_LIKE[lane],
            words.both_words(row[lane]) if lane == "both" else words.then_words(row[lane], hand),
        )
        for lane in words.READS
    ]
    line = words.line_words(start["line"]) if start["line"] else ""
    return OnCondition(row["condition"], row["house"], start["ball"], line, thens)


def _next_ball(choices: list[dict[str, Any]]) -> str:
    """The first choice that is a ball or a change to one, as the shop's page gives its reason."""
    for choice in choices:
        if choice["kind"] == "none":
            return "Nothing needed: what you have does it."
        if choice["kind"] != "care":
            parts = [choice["ball"], layout_words(choice["layout"]), choice["surface"]]
            named = ", ".join(part for part in parts if part)
            return f"{kind_words(choice['kind'])}: {named}. {choice['reason']}"
    return ""


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


@transaction.atomic
def send_report(*, link: PhoneLink, form: ReportForm) -> PhoneReport:
    """Keep a report until staff decide; the same form sent again is the same report."""
    sent: PhoneReport | None = PhoneReport.objects.filter(
        form_token=form.cleaned_data["form_token"]
    ).first()
    if sent is not None:
        return sent
    waiting = link.bowler.phone_reports.filter(status=PhoneReport.Status.WAITING)
    if waiting.count() >= MOST_WAITING:
        raise TooMany
    report: PhoneReport = form.save(commit=False)
    report.bowler, report.shop = link.bowler, link.shop
    report.form_token, report.leaves = form.cleaned_data["form_token"], form.cleaned_data["leaves"]
    try:
        with transaction.atomic():
            report.save()
    except IntegrityError:
        # Its twin came first.
        twin: PhoneReport = PhoneReport.objects.get(form_token=report.form_token)
        return twin
    return report


@transaction.atomic
def accept_report(*, report: PhoneReport, user: User) -> Observation | None:
    """Take a waiting report over as an observation; None if it was decided already.

    Raises InputError when the engine can't make anything of it: nothing is changed then.
    """
    if not _decide(report, PhoneReport.Status.ACCEPTED, user):
        return None
    ball = report.ball
    seen = Observation.objects.create(
        shop=report.shop,
        bowler=report.bowler,
        ball=ball,
        condition=report.condition,
        seen_on=report.seen_on,
        games=report.games,
        games_on_oil=_usual_state(report),
        finish=ball.finish,
        games_since_finish=ball.games_since_finish,
        games_since_oil_drawn=ball.games_since_oil_drawn,
        games_since_cleaned=ball.games_since_cleaned,
        leaves=report.leaves,
        motion=report.motion,
        look=report.look,
        remark=report.remark,
        logged_by=user,
    )
    engine.evidence_of(seen)
    PhoneReport.objects.filter(pk=report.pk).update(observation=seen)
    return seen


@transaction.atomic
def drop_report(*, report: PhoneReport, user: User) -> bool:
    """Leave a waiting report unused; False if it was decided already."""
    return _decide(report, PhoneReport.Status.DROPPED, user)


def _decide(report: PhoneReport, status: str, user: User) -> bool:
    waiting = PhoneReport.objects.select_for_update().filter(status=PhoneReport.Status.WAITING)
    held: PhoneReport | None = waiting.filter(pk=report.pk).first()
    if held is None:
        return False
    held.status, held.decided_by, held.decided_at = status, user, timezone.now()
    held.save_checked(held.version)
    return True


def _usual_state(report: PhoneReport) -> int:
    """Games on the oil as this customer usually meets the condition."""
    met = report.bowler.conditions.filter(condition=report.condition).order_by("pk").first()
    return met.games_on_oil if met else 0
