"""Jobs of the shop: opened, moved along the board, priced, collected, asked after."""

from __future__ import annotations

import datetime
import io
from decimal import Decimal
from typing import Any

import pypdf
import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from arsenal.models import DrillPlan, FollowUp, OwnedBall, Ticket
from arsenal.press import services as press
from arsenal.prices.usual import USUAL
from arsenal.tickets.books import money_of
from arsenal.tickets.reminders import Due, reminders, told
from bowlers.models import Bowler, Fitting
from proshop.models import Shop
from tests.arsenal import records


@pytest.fixture
def bowler(shop: Shop) -> Bowler:
    return records.customer(shop)


@pytest.fixture
def ball(bowler: Bowler) -> OwnedBall:
    spec = records.ball_model(bowler.shop).specs.get()
    return records.owned_ball(
        bowler,
        spec,
        games_since_finish=30,
        games_since_oil_drawn=20,
        games_since_cleaned=10,
    )


@pytest.fixture
def ticket(bowler: Bowler, ball: OwnedBall) -> Ticket:
    return records.ticket(bowler, ball=ball)


def stored(ticket: Ticket) -> Ticket:
    found: Ticket = Ticket.objects.get(pk=ticket.pk)
    return found


def move(client: Client, ticket: Ticket, to: str, **sent: Any) -> Any:
    now = stored(ticket)
    values = {"to": to, "record_version": now.version, **sent}
    return client.post(reverse("ticket-move", args=[ticket.pk]), values, follow=True)


def open_ticket(client: Client, bowler: Bowler, query: str = "", **typed: str) -> Any:
    address = reverse("ticket-add", args=[bowler.pk]) + query
    page = client.get(address)
    values = records.form_values(page, page.context["form"])
    return client.post(address, {**values, **typed}, follow=True)


def signed(client: Client, plan: DrillPlan) -> Ticket:
    version = DrillPlan.objects.get(pk=plan.pk).version
    client.post(reverse("drill-plan-sign", args=[plan.pk]), {"record_version": version})
    found: Ticket = Ticket.objects.get(plan=plan)
    return found


# ---- along the board ----


def test_a_job_goes_from_waiting_to_collected(staff_client: Client, ticket: Ticket) -> None:
    for step in ("press", "ready", "collected"):
        move(staff_client, ticket, step)
        assert stored(ticket).step == step
    done = stored(ticket)
    assert done.ready_at is not None
    assert done.collected_at is not None
    board = staff_client.get(reverse("tickets")).content.decode()
    assert "Collected in the last week: 1" in board


def test_a_job_moved_by_mistake_goes_back(staff_client: Client, ticket: Ticket) -> None:
    for step in ("press", "waiting", "press", "ready", "collected", "ready"):
        move(staff_client, ticket, step)
        assert stored(ticket).step == step
    assert stored(ticket).collected_at is None


@pytest.mark.parametrize("to", ["collected", "waiting", "", "nowhere", "off; drop"])
def test_a_job_can_not_jump(staff_client: Client, ticket: Ticket, to: str) -> None:
    page = move(staff_client, ticket, to)
    assert "can’t go there" in page.content.decode()
    assert stored(ticket).step == "waiting"


def test_two_people_moving_one_job_are_told(staff_client: Client, ticket: Ticket) -> None:
    move(staff_client, ticket, "press")
    page = move(staff_client, ticket, "ready", record_version=1)
    assert "was moved meanwhile" in page.content.decode()
    assert stored(ticket).step == "press"


def test_a_double_click_moves_once(staff_client: Client, ticket: Ticket) -> None:
    page = staff_client.get(ticket.get_absolute_url())
    token = records.token_in(page)
    values = {"to": "press", "record_version": ticket.version, "form_token": token}
    for _ in range(2):
        page = staff_client.post(reverse("ticket-move", args=[ticket.pk]), values, follow=True)
    assert stored(ticket).step == "press"
    assert "meanwhile" not in page.content.decode()


def test_called_off_it_leaves_the_board_and_can_start_again(
    staff_client: Client, ticket: Ticket
) -> None:
    move(staff_client, ticket, "off")
    assert ticket.number not in staff_client.get(reverse("tickets")).content.decode()
    move(staff_client, ticket, "waiting")
    assert ticket.number in staff_client.get(reverse("tickets")).content.decode()


def test_late_jobs_are_told_at_the_top_and_soonest_come_first(
    staff_client: Client, bowler: Bowler
) -> None:
    now = timezone.now()
    for hours, words in ((30, "later"), (-2, "late"), (5, "soon")):
        records.ticket(bowler, promised_at=now + datetime.timedelta(hours=hours), words=words)
    records.ticket(bowler, words="nobody promised")
    page = staff_client.get(reverse("tickets"))
    assert page.context["late"] == 1
    waiting = [ticket.words for ticket in page.context["columns"][0][1]]
    assert waiting == ["late", "soon", "later", "nobody promised"]
    assert "1 past the promised time" in page.content.decode()


def test_the_board_costs_the_same_queries_however_full(
    staff_client: Client, ball: OwnedBall
) -> None:
    counts = []
    for more in (1, 6):
        for _ in range(more):
            records.ticket(ball.bowler, ball=ball)
        with CaptureQueriesContext(connection) as seen:
            staff_client.get(reverse("tickets"))
        counts.append(len(seen))
    assert counts[0] == counts[1]


# ---- care is noted on the ball ----


@pytest.mark.parametrize(
    ("job", "games"), [("clean", (30, 20, 0)), ("extract", (30, 0, 0)), ("resurface", (0, 20, 0))]
)
def test_care_is_noted_on_the_ball_once_it_is_ready(
    staff_client: Client, ball: OwnedBall, job: str, games: tuple[int, int, int]
) -> None:
    """Whoever sands or draws oil out cleans the ball first."""
    ticket = records.ticket(ball.bowler, ball=ball, job=job, finish="1000")
    move(staff_client, ticket, "press")
    ball.refresh_from_db()
    assert ball.games_since_cleaned == 10, "nothing is done yet"
    move(staff_client, ticket, "ready")
    ball.refresh_from_db()
    assert (
        ball.games_since_finish,
        ball.games_since_oil_drawn,
        ball.games_since_cleaned,
    ) == games
    assert ball.finish == ("1000" if job == "resurface" else "2000")
    entry = ball.care.get()
    assert (entry.games, entry.finish, entry.by is not None) == (30, ball.finish, True)
    assert ticket.number in entry.note


def test_going_back_and_forth_notes_care_once(staff_client: Client, ticket: Ticket) -> None:
    for step in ("press", "ready", "collected"):
        move(staff_client, ticket, step)
    OwnedBall.objects.update(games_since_cleaned=4)
    move(staff_client, ticket, "ready")
    assert OwnedBall.objects.get().games_since_cleaned == 4, "played since it was collected"


@pytest.mark.parametrize(("job", "has_ball"), [("clean", False), ("thumb", True)])
def test_what_is_no_care_of_a_ball_of_the_bag_is_noted_on_none(
    staff_client: Client, ball: OwnedBall, job: str, has_ball: bool
) -> None:
    ticket = records.ticket(ball.bowler, job=job, ball=ball if has_ball else None)
    for step in ("press", "ready"):
        move(staff_client, ticket, step)
    assert stored(ticket).step == "ready"
    assert not ball.care.exists()
    assert OwnedBall.objects.get().games_since_cleaned == 10


# ---- a plan's ticket ----


def test_signing_a_plan_off_puts_a_priced_ticket_on_the_press(
    staff_client: Client, bowler: Bowler
) -> None:
    spec = records.ball_model(bowler.shop).specs.get()
    stock = records.stock_ball(bowler.shop, spec, price="170")
    plan = records.drill_plan(bowler, spec, stock=stock)
    plan.holes.exclude(kind="thumb").update(sleeve="insert", inside_in=0.75)
    plan.holes.filter(kind="thumb").update(sleeve="slug", inside_in=0.9)
    ticket = signed(staff_client, plan)
    assert (ticket.step, ticket.job) == ("press", "drill")
    assert ticket.price_ball == Decimal(170)
    assert ticket.price_inserts == 2 * USUAL["insert"]
    assert ticket.price_slug == USUAL["slug"]
    expected = Decimal(170) + USUAL["drill"] + 2 * USUAL["insert"]
    assert ticket.total == expected + USUAL["slug"]
    assert ticket.new_thumb, "the first thumb hole there is"
    board = staff_client.get(reverse("tickets")).content.decode()
    assert "It is drilled" in board


def test_a_plans_ticket_is_ready_once_it_is_drilled_and_not_before(
    staff_client: Client, bowler: Bowler
) -> None:
    plan = records.drill_plan(bowler, records.ball_model(bowler.shop).specs.get())
    ticket = signed(staff_client, plan)
    page = move(staff_client, ticket, "ready")
    assert "that it is drilled, and what differed" in page.content.decode()
    address = reverse("drill-plan-drilled", args=[plan.pk])
    form = staff_client.get(address)
    staff_client.post(
        address, records.form_values(form, form.context["form"], form.context["holes"])
    )
    ready = stored(ticket)
    assert ready.step == "ready"
    assert ready.ball == OwnedBall.objects.get()


def test_a_signed_plans_ticket_taken_off_the_press_goes_back_on_it(
    staff_client: Client, bowler: Bowler
) -> None:
    plan = records.drill_plan(bowler, records.ball_model(bowler.shop).specs.get())
    ticket = signed(staff_client, plan)
    for step in ("waiting", "press"):
        move(staff_client, ticket, step)
        assert stored(ticket).step == step


def test_a_plan_taken_back_takes_its_ticket_off_the_press(
    staff_client: Client, bowler: Bowler
) -> None:
    plan = records.drill_plan(bowler, records.ball_model(bowler.shop).specs.get())
    ticket = signed(staff_client, plan)
    version = DrillPlan.objects.get().version
    address = reverse("drill-plan-aside", args=[plan.pk])
    staff_client.post(address, {"record_version": version})
    assert stored(ticket).step == "off"
    staff_client.post(address, {"record_version": version + 1, "aside": "0"})
    assert stored(ticket).step == "waiting"
    page = move(staff_client, ticket, "press")
    assert "off first" in page.content.decode()
    again = signed(staff_client, plan)
    assert (again.pk, again.step) == (ticket.pk, "press")


def test_the_same_thumb_again_is_not_new(staff_client: Client, ball: OwnedBall) -> None:
    plan = records.drill_plan(ball.bowler, ball.spec)
    assert not signed(staff_client, plan).new_thumb
    other = records.drill_plan(ball.bowler, ball.spec)
    other.holes.filter(kind="thumb").update(diameter_in=1.0625)
    assert signed(staff_client, other).new_thumb
    without = records.drill_plan(ball.bowler, ball.spec)
    without.holes.filter(kind="thumb").delete()
    assert not signed(staff_client, without).new_thumb


def test_nothing_is_opened_by_a_plan_that_is_refused(staff_client: Client, bowler: Bowler) -> None:
    plan = records.drill_plan(
        bowler, records.ball_model(bowler.shop).specs.get(), top_weight_oz=6.0
    )
    staff_client.post(reverse("drill-plan-sign", args=[plan.pk]), {"record_version": 1})
    assert not press.planned(DrillPlan.objects.whole().get()).ready.is_ready
    assert not Ticket.objects.exists()


# ---- opened by hand ----


def test_a_service_job_is_opened_with_its_usual_price(
    staff_client: Client, bowler: Bowler, ball: OwnedBall
) -> None:
    open_ticket(
        staff_client,
        bowler,
        f"?ball={ball.pk}&job=resurface",
        finish="1000",
        deposit="10",
        promised_at="2030-05-01T17:30",
        words="Sand all of it, not just the track",
    )
    ticket = Ticket.objects.get()
    assert (ticket.job, ticket.ball, ticket.finish) == ("resurface", ball, "1000")
    assert ticket.total == USUAL["resurface"]
    assert ticket.due == USUAL["resurface"] - 10
    assert timezone.localtime(ticket.promised_at).hour == 17


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"price_work": "-3"}, "Drilling or work must be between 0 and 99999"),
        ({"deposit": "lots"}, "Deposit taken must be a number"),
        ({"job": "drill"}, "Select a valid choice"),
        ({"promised_at": "tomorrow"}, "Enter a valid date/time"),
    ],
)
def test_what_can_not_be_is_refused_by_name(
    staff_client: Client, bowler: Bowler, typed: dict[str, str], said: str
) -> None:
    page = open_ticket(staff_client, bowler, words="Mind the logo", **typed).content.decode()
    assert said in page
    assert "Mind the logo" in page
    assert not Ticket.objects.exists()


def test_another_customers_ball_can_not_be_put_on_a_ticket(
    staff_client: Client, bowler: Bowler, ball: OwnedBall
) -> None:
    other = records.customer(bowler.shop, "Someone Else")
    open_ticket(staff_client, other, ball=str(ball.pk))
    assert not Ticket.objects.exists()


def test_prices_left_empty_are_nothing(staff_client: Client, bowler: Bowler) -> None:
    open_ticket(staff_client, bowler, price_ball="", price_inserts="", price_slug="", deposit="")
    ticket = Ticket.objects.get()
    assert not any((ticket.price_ball, ticket.price_inserts, ticket.price_slug, ticket.deposit))
    assert ticket.total == ticket.price_work


def test_the_books_keep_jobs_with_money_alone(bowler: Bowler) -> None:
    records.ticket(bowler, price_work="0", words="for nothing")
    records.ticket(bowler, price_work="0", deposit="3")
    records.ticket(bowler, price_work="5")
    found = [(row["price"], row["deposit"]) for row in money_of(bowler)]
    assert found == [("0.00 USD", "3.00 USD"), ("5.00 USD", "0.00 USD")]


def test_a_deposit_above_the_price_is_to_be_given_back(
    staff_client: Client, bowler: Bowler
) -> None:
    ticket = records.ticket(bowler, deposit="20")
    page = staff_client.get(ticket.get_absolute_url()).content.decode()
    assert "To give back" in page


# ---- asked after ----


def test_a_new_thumb_is_asked_about_two_weeks_after_it_was_collected(
    staff_client: Client, ticket: Ticket
) -> None:
    Ticket.objects.update(
        new_thumb=True,
        step="collected",
        collected_at=timezone.now() - datetime.timedelta(days=13, hours=20),
    )
    assert reminders(ticket.shop) == []
    Ticket.objects.update(collected_at=timezone.now() - datetime.timedelta(days=14, hours=1))
    (due,) = reminders(ticket.shop)
    assert "collected 14 days ago" in due.words
    address = reverse("reminder-asked", args=[ticket.bowler_id, "thumb"])
    page = staff_client.get(address)
    values = records.form_values(page, page.context["form"])
    staff_client.post(address, {**values, "words": "Rubs at the knuckle."})
    assert FollowUp.objects.get().words == "Rubs at the knuckle."
    assert reminders(ticket.shop) == []
    page = staff_client.get(address, follow=True)
    assert "nothing is due" in page.content.decode()


def test_a_junior_is_asked_four_months_after_the_hand_was_measured(
    staff_client: Client, shop: Shop
) -> None:
    year = timezone.localdate().year
    young = records.customer(shop, "Robin Vale", born=year - 13)
    grown = records.customer(shop, "Ash Vale", born=year - 40)
    for bowler in (young, grown):
        records.grip(bowler, measured_on=timezone.localdate() - datetime.timedelta(days=150))
    (due,) = reminders(shop)
    assert (due.bowler, due.about) == (young, "growth")
    assert "13 this year" in due.words
    staff_client.post(reverse("reminder-asked", args=[young.pk, "growth"]), {"words": ""})
    assert reminders(shop) == []
    FollowUp.objects.update(asked_on=timezone.localdate() - datetime.timedelta(days=200))
    assert len(reminders(shop)) == 1, "four months on, again"
    records.grip(young)
    assert reminders(shop) == []


def test_a_junior_never_measured_is_asked_four_months_after_the_last_fitting(shop: Shop) -> None:
    today = timezone.localdate()
    day = today - datetime.timedelta(days=150)
    fitted, lately, measured, _never_here = (
        records.customer(shop, f"{name} Vale", born=today.year - 13)
        for name in ("Robin", "Ash", "Rowan", "Hazel")
    )
    for bowler, days in ((fitted, [day]), (lately, [day, today]), (measured, [day])):
        for fitted_on in days:
            Fitting.objects.create(shop=shop, bowler=bowler, fitted_on=fitted_on)
    records.grip(measured, measured_on=today)
    (due,) = reminders(shop)
    assert (due.bowler, due.since) == (fitted, day + datetime.timedelta(days=120))
    # What was measured counts before what was fitted.
    records.grip(lately, measured_on=day)
    assert [due.bowler for due in reminders(shop)] == [lately, fitted]


def test_the_board_shows_some_of_many_who_are_due_by_as_many_queries(
    staff_client: Client, shop: Shop, bowler: Bowler
) -> None:
    ticket = records.ticket(bowler, step="collected", new_thumb=True)
    Ticket.objects.update(collected_at=timezone.now() - datetime.timedelta(days=400))
    year = timezone.localdate().year
    asked = []
    for more in (1, 60):
        for n in range(more):
            young = records.customer(shop, f"Robin Vale {more} {n}", born=year - 13)
            day = timezone.localdate() - datetime.timedelta(days=150 + n)
            records.grip(young, measured_on=day)
        with CaptureQueriesContext(connection) as taken:
            page = staff_client.get(reverse("tickets"))
        asked.append(len(taken))
    assert asked[0] == asked[1]
    assert len(page.context["reminders"]) == 40
    thumb, grown, *_ = page.context["reminders"]
    assert (thumb.ticket, grown.bowler.name) == (ticket, "Robin Vale 60 59")
    last = staff_client.get(reverse("tickets"), {"page": 2}).context["reminders"]
    assert [one.bowler.name for one in last[-2:]] == ["Robin Vale 1 0", "Robin Vale 60 0"]


@pytest.mark.parametrize("about", [FollowUp.About.THUMB, FollowUp.About.GROWTH])
def test_who_is_gone_since_is_not_asked(shop: Shop, about: FollowUp.About) -> None:
    today = timezone.localdate()
    assert told(shop, [Due(today, about, 999_999, today)]) == []


def test_nobody_is_asked_about_something_else(staff_client: Client, bowler: Bowler) -> None:
    address = reverse("reminder-asked", args=[bowler.pk, "weather"])
    assert staff_client.get(address).status_code == 404


# ---- the label ----


def test_the_label_is_four_inches_by_two_with_the_job_on_it(
    staff_client: Client, bowler: Bowler, ball: OwnedBall
) -> None:
    Bowler.objects.update(name="Bartholomew Featherstonehaugh-Cholmondeley of the Marshes")
    OwnedBall.objects.update(serial="SERIAL 0123456789", nickname="The old one with a long name")
    ticket = records.ticket(
        bowler, ball=ball, promised_at=timezone.now() + datetime.timedelta(days=1)
    )
    answer = staff_client.get(reverse("ticket-label-pdf", args=[ticket.pk]))
    reader = pypdf.PdfReader(io.BytesIO(answer.content))
    assert len(reader.pages) == 1
    box = reader.pages[0].mediabox
    assert (float(box.width) / 72, float(box.height) / 72) == pytest.approx((4, 2), abs=0.01)
    text = " ".join(reader.pages[0].extract_text().replace("\0", "").split())
    for said in ("Bartholomew", ticket.number, "Clean", "SERIAL 0123456789", "5.00 USD due"):
        assert said in text, said
    page = staff_client.get(reverse("ticket-label", args=[ticket.pk])).content.decode()
    assert 'class="qr"' in page
