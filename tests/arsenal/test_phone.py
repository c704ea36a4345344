"""The bowler's own page: its link, what it shows and doesn't, and reports on their way in."""

from __future__ import annotations

import base64
import json
import logging
import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.cache import cache
from django.test import Client
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from arsenal.advice import run
from arsenal.advice.window_rows import window_rows
from arsenal.models import Condition, LanesAdvice, Observation, PhoneLink, PhoneReport, Ranking
from arsenal.phone import guard, services, words
from arsenal.phone.by_ball import by_ball
from arsenal.phone.models import digest
from arsenal.phone.tasks import prepare_page
from bowlers.models import Bowler
from proshop.models import Shop
from tests.arsenal import records
from tests.arsenal.invented import invented_result
from tests.furnished import furnish

THEN: dict[str, Any] = {
    "stay": 0.3, "moved": 0.5, "feet": 2, "eyes": 1, "pace_mph": None, "change": None,
}  # fmt: skip
BALL = {
    "ball_id": 1, "ball": "Hornbeam", "carry": 0.5,
    "line": {"laydown_board": 22.4, "arrow_board": 13.6},
}  # fmt: skip
ROW = {
    "condition": "House blend",
    "condition_id": 1,
    "house": "Long Meadow",
    "start": BALL,
    "early": THEN,
    "late": {**THEN, "feet": -2, "eyes": 0, "change": {**BALL, "ball": "Alder"}},
    "both": {"worse": 0.3, "change": None},
}


@pytest.fixture
def bowler(shop: Shop, staff: User) -> Bowler:
    furnish(shop, staff)
    cache.clear()
    return Bowler.objects.get()


@pytest.fixture
def link(bowler: Bowler) -> PhoneLink:
    return PhoneLink.objects.get(bowler=bowler)


def address(link: PhoneLink) -> str:
    return f"/mine/{link.token}/"


def said(client: Client, link: PhoneLink) -> str:
    return client.get(address(link)).content.decode()


def report(link: PhoneLink, **changes: Any) -> dict[str, Any]:
    bowler = link.bowler
    values = {
        "form_token": str(uuid.uuid4()),
        "ball": bowler.bag.get().pk,
        "condition": bowler.conditions.get().condition_id,
        "seen_on": timezone.localdate().isoformat(),
        "games": "3",
        "motion": "quit",
        "look": "",
        "common_leaves": ["10", "4-9"],
        "remark": "",
    }
    return {**values, **changes}


def test_only_the_token_s_digest_is_stored(link: PhoneLink) -> None:
    token = link.token
    assert token is not None
    assert len(token) == 43
    kept = PhoneLink.objects.filter(pk=link.pk).values().get()
    assert token not in map(str, kept.values())
    assert kept["token_digest"] == digest(token)
    history = link.history.values().first()
    assert not {"nonce", "token_digest"} & set(history)


def test_an_address_is_256_bits_at_random_and_another_each_time(link: PhoneLink) -> None:
    seen = set()
    for _ in range(50):
        link.renew_token()
        token = str(link.token)
        assert len(base64.urlsafe_b64decode(token + "=")) * 8 == 256
        seen.add(token)
    assert len(seen) == 50


def test_tokens_are_compared_in_constant_time(
    link: PhoneLink, stranger_client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    compared = []

    def unequal(one: str, other: str) -> bool:
        compared.append((one, other))
        return False

    monkeypatch.setattr("hmac.compare_digest", unequal)
    assert services.link_of(str(link.token)) is None
    assert compared == [(link.token_digest, digest(str(link.token)))]


def test_a_link_is_first_offered_for_a_season(bowler: Bowler) -> None:
    days = (services.new_link(bowler).good_until - timezone.localdate()).days
    assert 240 <= days <= 366


def test_another_secret_key_ends_showing_the_address_and_not_the_page(
    link: PhoneLink, stranger_client: Client, staff: User, settings: Any
) -> None:
    token = link.token
    settings.SECRET_KEY = "another secret key of more than fifty characters, at random"
    assert link.token is None
    assert stranger_client.get(f"/mine/{token}/").status_code == 200
    again = Client()
    again.force_login(staff, backend="django.contrib.auth.backends.ModelBackend")
    page = again.get(f"/customers/{link.bowler_id}/phone/").content.decode()
    assert "another secret key" in page
    assert str(token) not in page


def test_the_page_asks_for_nothing_and_leaves_nothing(
    link: PhoneLink, stranger_client: Client
) -> None:
    answer = stranger_client.get(address(link))
    assert answer.status_code == 200
    assert not answer.cookies
    assert "noindex" in answer["X-Robots-Tag"]
    assert answer["Referrer-Policy"] == "no-referrer"
    assert answer["Cache-Control"] == "private, no-cache"
    link.refresh_from_db()
    assert link.opened_on == timezone.localdate()


def test_nothing_else_of_the_record_is_on_it(link: PhoneLink, stranger_client: Client) -> None:
    bowler = link.bowler
    Bowler.objects.filter(pk=bowler.pk).update(
        name="Wren Marsh", goal="A private goal", complaint="A sore thumb", notes="Owes a deposit"
    )
    page = said(stranger_client, link)
    for private in ("Wren", "private goal", "sore thumb", "deposit", "average", "rpm", "mph"):
        assert private not in page
    assert "What your shop would do next" not in page
    PhoneLink.objects.update(shown_name="The Wren", shares_next_ball=True)
    page = said(stranger_client, link)
    assert "The Wren, on the lanes" in page
    assert "What your shop would do next" in page


def test_the_picture_ball_by_ball_is_as_private_as_the_page(
    link: PhoneLink, stranger_client: Client
) -> None:
    there = address(link) + "by-ball/"
    answer = stranger_client.get(there)
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/json")
    assert not answer.cookies
    assert "noindex" in answer["X-Robots-Tag"]
    assert answer["Referrer-Policy"] == "no-referrer"
    assert answer["Cache-Control"] == "private, no-cache"
    assert stranger_client.post(there).status_code == 405
    PhoneLink.objects.update(revoked_at=timezone.now())
    assert stranger_client.get(there).status_code == 410
    misses = [
        stranger_client.get(f"/mine/{n:043d}/by-ball/").status_code
        for n in range(guard.MOST_MISSES + 1)
    ]
    assert misses[:-1] == [404] * guard.MOST_MISSES
    assert misses[-1] == 429


def test_the_picture_ball_by_ball_says_what_the_page_says_and_no_more(
    link: PhoneLink, stranger_client: Client
) -> None:
    rows = services.page_of(link).rows
    assert rows is not None
    found = stranger_client.get(address(link) + "by-ball/").json()
    page = said(stranger_client, link)
    assert sorted(one["ball"] for one in found["told"]) == sorted(
        {ball["ball"] for row in rows.all for ball in row.owned}
    )
    for row in rows.all:
        for ball in row.owned:
            told = next(one for one in found["told"] if one["ball"] == ball["ball"])
            line = next(one for one in told["lines"] if one.startswith(row.task["name"]))
            assert ("scores" in line) is ball["scores"]
            assert f"{ball['hook_length_ft']:.1f} feet of hook" in line
            assert f"{ball['ball']}: {ball['hook_length_ft']:.1f} feet of hook" in page
    marks = [one for one in found["figure"]["data"] if one["mode"] == "markers"]
    assert sum(len(one["x"]) for one in marks) == sum(len(row.owned) for row in rows.all)


def test_a_ball_s_name_is_never_markup_in_the_picture(link: PhoneLink) -> None:
    result = {**invented_result(), "benchmark": None}
    for task in result["tasks"]:
        for ball in task["owned"]:
            ball["ball"] = "<b>Elm</b> & <a href='x'>co</a>"
    text = json.dumps(by_ball(window_rows(result))["figure"])
    assert "<a" not in text
    assert "&lt;b&gt;Elm" in text


def test_without_a_ranking_there_is_no_picture_ball_by_ball(
    link: PhoneLink, stranger_client: Client
) -> None:
    Ranking.objects.all().delete()
    assert stranger_client.get(address(link) + "by-ball/").status_code == 404
    assert 'id="by-ball"' not in said(stranger_client, link)


def test_a_closed_ended_or_unknown_link_says_so(link: PhoneLink, stranger_client: Client) -> None:
    there = address(link)
    yesterday = timezone.localdate() - timedelta(days=1)
    PhoneLink.objects.update(good_until=yesterday)
    answer = stranger_client.get(there)
    assert (answer.status_code, "good for a season" in answer.content.decode()) == (410, True)
    PhoneLink.objects.update(good_until=timezone.localdate(), revoked_at=timezone.now())
    answer = stranger_client.get(there)
    assert (answer.status_code, "has closed it" in answer.content.decode()) == (410, True)
    assert stranger_client.post(there + "report/", report(link)).status_code == 410
    assert stranger_client.get(f"/mine/{'x' * 43}/").status_code == 404


def test_guessing_is_answered_a_few_times_and_right_addresses_always(
    link: PhoneLink, stranger_client: Client
) -> None:
    answers = [
        stranger_client.get(f"/mine/{n:043d}/").status_code for n in range(guard.MOST_MISSES + 2)
    ]
    assert answers == [404] * guard.MOST_MISSES + [429, 429]
    assert stranger_client.get(address(link)).status_code == 200


def test_no_token_reaches_the_log(
    link: PhoneLink, stranger_client: Client, caplog: pytest.LogCaptureFixture
) -> None:
    there = address(link)
    with caplog.at_level(logging.DEBUG):
        stranger_client.get(there)
        stranger_client.post(there + "report/", {})
        stranger_client.put(there)
        stranger_client.get(there + "nowhere/")
        stranger_client.get(there + "by-ball/")
        stranger_client.get(f"/mine/{'x' * 43}/")
        PhoneLink.objects.update(revoked_at=timezone.now())
        stranger_client.get(there)
    assert len(caplog.messages) > 4
    for line in caplog.messages:
        assert str(link.token) not in line
        assert "x" * 43 not in line


def test_advice_is_in_words_for_either_hand() -> None:
    assert words.then_words(THEN, "right") == [
        "Move 2 boards left with your feet and 1 board left with your eyes."
    ]
    assert "2 boards right" in words.then_words(THEN, "left")[0]
    late = words.then_words(ROW["late"], "right")  # type: ignore[arg-type]
    assert late == [
        "Move 2 boards right with your feet, same target.",
        "Better still: change to Alder, from board 22 over 14.",
    ]
    paced = words.then_words({**THEN, "feet": 0, "eyes": 0, "pace_mph": -1.0}, "right")
    assert paced[1] == "Or stay, and throw it about a mile an hour slower."
    assert words.then_words({**THEN, "feet": None}, "right") == ["No line is left for this ball."]


def test_another_ball_is_named_with_its_line_where_it_has_one() -> None:
    alder = {**BALL, "ball": "Alder"}
    assert words.both_words({"worse": 0.2, "change": alder}) == [
        "Change to Alder, from board 22 over 14. It minds least."
    ]
    assert words.both_words({"worse": 0.2, "change": {**alder, "line": None}}) == [
        "Change to Alder. It minds least."
    ]


def test_a_night_of_two_balls_says_what_changing_is_worth() -> None:
    games = [{"ball": "Hornbeam", "changed": False}, {"ball": "Alder", "changed": True}]
    closing = words.night_closing({"games": games, "planned": 0.487, "same_ball": 0.452})
    assert closing.startswith(
        "About 49 strikes in a hundred first balls, against 45 with Hornbeam throughout (estimates)"
    )


def test_a_condition_that_nothing_owned_can_play_says_so(
    link: PhoneLink, stranger_client: Client
) -> None:
    row = {**ROW, "start": None, "early": None, "late": None, "both": None}
    LanesAdvice.objects.create(ranking=Ranking.objects.get(), rows=[row])
    page = said(stranger_client, link)
    assert "House blend" in page
    assert "Nothing in your bag finds the pocket here. Ask your shop." in page
    assert "If it reads early" not in page


@pytest.mark.parametrize(
    ("kinds", "told"),
    [
        (["none", "order"], "Nothing needed: what you have does it."),
        (["care", "order"], "To order: Rowan"),
        (["care"], ""),
    ],
)
def test_what_the_shop_would_do_next_is_a_ball_and_no_care(
    link: PhoneLink, stranger_client: Client, kinds: list[str], told: str
) -> None:
    PhoneLink.objects.update(shares_next_ball=True)
    ranking = Ranking.objects.get()
    result: Any = invented_result(care=True)
    first = {choice["kind"]: choice for choice in reversed(result["choices"])}
    result["choices"] = [first[kind] for kind in kinds]
    ranking.result = result
    ranking.save()
    page = said(stranger_client, link)
    assert ("What your shop would do next" in page) is bool(told)
    assert told in page
    assert ("Silver Birch: draw the oil out and restore its" in page) is ("care" in kinds)


def test_the_picture_has_no_mark_for_what_there_is_none_of() -> None:
    """Everything scores and nothing is a gap; one ball has no hook length to lie at."""
    result: Any = {**invented_result(tasks=1), "benchmark": None}
    (task,) = result["tasks"]
    for ball in task["owned"]:
        ball["carry"] = task["best_available"]
    task["owned"][0]["hook_length_ft"] = None
    found = by_ball(window_rows(result))
    assert [one["name"] for one in found["figure"]["data"]] == ["window", "scores"]
    assert len(found["figure"]["data"][1]["x"]) == len(task["owned"]) - 1
    without = next(one for one in found["told"] if one["ball"] == task["owned"][0]["ball"])
    assert "feet of hook" not in without["lines"][0]
    assert "scores" in without["lines"][0]


def test_the_page_never_works_on_the_surface_in_play(
    link: PhoneLink, stranger_client: Client
) -> None:
    """Governing bodies: nothing that alters the surface while certified competition is bowled."""
    LanesAdvice.objects.create(ranking=Ranking.objects.get(), rows=[ROW])
    page = said(stranger_client, link)
    start = page.index("Start with this ball")
    advice = page[start : page.index("Your balls on each")].lower()
    for work in ("sand", "polish", "pad", "clean", "grit", "surface"):
        assert work not in advice
    assert "If it reads early" in page
    assert "from board 22 over 14" in page


def test_staff_make_show_remake_and_close_a_link(
    bowler: Bowler, staff_client: Client, stranger_client: Client, staff: User
) -> None:
    PhoneLink.objects.all().delete()
    there = f"/customers/{bowler.pk}/phone/"
    page = staff_client.get(there)
    until = (timezone.localdate() + timedelta(days=200)).isoformat()
    values = {"shown_name": "", "good_until": until, "takes_reports": "on"}
    token = {"form_token": records.token_in(page), "record_version": 1}
    assert staff_client.post(there, {**values, **token}).status_code == 302
    # Sent twice by a double click: one link.
    assert staff_client.post(there, {**values, **token}).status_code == 302
    first = PhoneLink.objects.get()
    shown = staff_client.get(there)
    assert address(first) in shown.content.decode()
    assert "<svg" in shown.content.decode()
    again = {"form_token": records.token_in(shown), "record_version": first.version}
    # Two forms stand on the page: the second one's token makes another link.
    again["form_token"] = str(uuid.uuid4())
    assert staff_client.post(there, {**values, **again}).status_code == 302
    second = PhoneLink.objects.get()
    assert stranger_client.get(address(first)).status_code == 404
    assert stranger_client.get(address(second)).status_code == 200
    staff_client.post(there + "end/", {"form_token": str(uuid.uuid4())})
    assert stranger_client.get(address(second)).status_code == 410


@pytest.mark.parametrize("days", [-1, 401, 4000])
def test_a_link_is_good_for_a_season_and_not_for_ever(
    bowler: Bowler, staff_client: Client, days: int
) -> None:
    there = f"/customers/{bowler.pk}/phone/"
    day = (timezone.localdate() + timedelta(days=days)).isoformat()
    link = PhoneLink.objects.get()
    answer = staff_client.post(
        there, {"good_until": day, "record_version": link.version, "form_token": uuid.uuid4()}
    )
    assert "Good until must be between today and" in answer.content.decode()


def test_a_report_waits_for_staff_and_then_counts(
    link: PhoneLink, stranger_client: Client, staff_client: Client
) -> None:
    PhoneReport.objects.all().delete()
    before = Observation.objects.count()
    values = report(link)
    there = address(link) + "report/"
    answer = stranger_client.post(there, values)
    assert answer.status_code == 302
    assert answer["Location"].startswith(address(link))
    assert stranger_client.post(there, values).status_code == 302
    sent = PhoneReport.objects.get()
    assert (sent.leaves, sent.motion) == (["10", "4-9"], "quit")
    assert Observation.objects.count() == before
    page = staff_client.get(f"/customers/{link.bowler_id}/afterwards/").content.decode()
    assert "Sent from the phone" in page
    decide = f"/phone-reports/{sent.pk}/"
    staff_client.post(decide, {"take": "1", "form_token": uuid.uuid4()})
    staff_client.post(decide, {"take": "0", "form_token": uuid.uuid4()})
    assert Observation.objects.count() == before + 1
    sent.refresh_from_db()
    assert sent.status == "accepted"
    assert sent.observation is not None
    assert sent.observation.leaves == ["10", "4-9"]
    assert sent.observation.evidence is not None


def test_a_report_that_isn_t_used_counts_for_nothing(link: PhoneLink, staff_client: Client) -> None:
    sent = PhoneReport.objects.get()
    before = Observation.objects.count()
    staff_client.post(f"/phone-reports/{sent.pk}/", {"take": "0", "form_token": uuid.uuid4()})
    sent.refresh_from_db()
    assert (sent.status, Observation.objects.count()) == ("dropped", before)


@pytest.mark.parametrize(
    ("change", "words_said"),
    [
        ({"motion": "", "look": "", "common_leaves": []}, "Nothing seen yet"),
        ({"ball": "999999"}, "valid choice"),
        ({"ball": ""}, "Ball is missing"),
        ({"condition": ""}, "Condition is missing"),
        ({"seen_on": "2001-01-01"}, "one of the last 30 days"),
        ({"games": "900"}, "Games bowled must be"),
        ({"games": "nan"}, "Games bowled must be"),
        ({"common_leaves": ["1-2-3-4-5-6-7-8-9-11"]}, "valid choice"),
        ({"remark": "x" * 501}, "at most 500"),
        ({"form_token": "nonsense"}, "UUID"),
    ],
)
def test_a_wrong_report_is_refused_in_words(
    link: PhoneLink, stranger_client: Client, change: dict[str, Any], words_said: str
) -> None:
    before = PhoneReport.objects.count()
    answer = stranger_client.post(address(link) + "report/", report(link, **change))
    assert answer.status_code == 422
    if words_said != "UUID":
        assert words_said in answer.content.decode()
    assert PhoneReport.objects.count() == before


def test_another_s_ball_can_t_be_reported_on(
    link: PhoneLink, stranger_client: Client, shop: Shop
) -> None:
    other = records.customer(shop, "Other")
    model = records.ball_model(shop, "Elm")
    ball = records.owned_ball(other, model.specs.get())
    answer = stranger_client.post(address(link) + "report/", report(link, ball=ball.pk))
    assert answer.status_code == 422


def test_a_shop_that_takes_no_reports_gets_none(link: PhoneLink, stranger_client: Client) -> None:
    PhoneLink.objects.update(takes_reports=False)
    assert "Tell your shop" not in said(stranger_client, link)
    assert stranger_client.post(address(link) + "report/", report(link)).status_code == 403


def test_a_page_left_open_in_a_bag_sends_no_hundreds(
    link: PhoneLink, stranger_client: Client
) -> None:
    there = address(link) + "report/"
    for _ in range(services.MOST_WAITING - 1):
        assert stranger_client.post(there, report(link)).status_code == 302
    answer = stranger_client.post(there, report(link))
    assert "Many reports wait" in answer.content.decode()
    assert PhoneReport.objects.count() == services.MOST_WAITING


def test_without_a_ranking_the_page_says_what_is_missing(
    link: PhoneLink, stranger_client: Client
) -> None:
    Ranking.objects.all().delete()
    assert "Nothing is worked out yet" in said(stranger_client, link)


def test_inputs_of_another_release_are_left_alone(link: PhoneLink) -> None:
    assert services.prepare(Ranking.objects.get()) is None
    assert not LanesAdvice.objects.exists()


def test_the_worker_keeps_the_page_and_its_looks(stranger_client: Client) -> None:
    script = stranger_client.get("/mine/worker.js")
    assert script["Content-Type"].startswith("text/javascript")
    assert "arsenal/phone.css" in script.content.decode()


def test_the_page_follows_a_ranking_that_is_done_while_its_link_is_open(
    link: PhoneLink, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert services.follow in run._WHEN_DONE
    monkeypatch.setattr("arsenal.engine.on_the_lanes", lambda inputs: [ROW])
    PhoneLink.objects.update(revoked_at=timezone.now())
    services.follow(Ranking.objects.get())
    assert not LanesAdvice.objects.exists()
    PhoneLink.objects.update(revoked_at=None)
    services.follow(Ranking.objects.get())
    assert LanesAdvice.objects.get().rows == [ROW]


def test_of_two_forms_alike_at_the_same_moment_one_is_a_report(
    link: PhoneLink, stranger_client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The second looked before the first was there: the database keeps it out."""
    PhoneReport.objects.all().delete()
    values, there = report(link), address(link) + "report/"
    assert stranger_client.post(there, values).status_code == 302
    monkeypatch.setattr(PhoneReport.objects, "filter", lambda **_: PhoneReport.objects.none())
    assert stranger_client.post(there, values).status_code == 302
    assert PhoneReport.objects.count() == 1


def test_a_report_taken_over_twice_counts_once(link: PhoneLink, staff: User) -> None:
    one, same = PhoneReport.objects.get(), PhoneReport.objects.get()
    before = Observation.objects.count()
    assert services.accept_report(report=one, user=staff) is not None
    assert services.accept_report(report=same, user=staff) is None
    assert Observation.objects.count() == before + 1


def test_a_report_the_engine_can_t_use_waits_on_and_says_why(
    link: PhoneLink, staff_client: Client
) -> None:
    sent = PhoneReport.objects.get()
    before = Observation.objects.count()
    Condition.objects.update(shape="flat", inside_to_outside_ratio=15)
    values = {"take": "1", "form_token": uuid.uuid4()}
    answer = staff_client.post(f"/phone-reports/{sent.pk}/", values, follow=True)
    assert "can’t be used. Inside to outside ratio must be" in answer.content.decode()
    sent.refresh_from_db()
    assert (sent.status, Observation.objects.count()) == ("waiting", before)


def test_a_link_is_made_before_anything_is_worked_out(bowler: Bowler, staff_client: Client) -> None:
    PhoneLink.objects.all().delete()
    Ranking.objects.all().delete()
    there = f"/customers/{bowler.pk}/phone/"
    token = records.token_in(staff_client.get(there))
    until = (timezone.localdate() + timedelta(days=200)).isoformat()
    values = {"good_until": until, "form_token": token, "record_version": 1}
    assert staff_client.post(there, values).status_code == 302
    assert PhoneLink.objects.get().is_open
    assert not DBTaskResult.objects.exists()


def test_the_worker_s_job_works_the_page_out_once(
    link: PhoneLink, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("arsenal.engine.on_the_lanes", lambda inputs: [ROW])
    ranking = Ranking.objects.get()
    assert [prepare_page.call(ranking.pk) for _ in range(2)] == [True, True]
    assert LanesAdvice.objects.get().rows == [ROW]
    assert prepare_page.call(ranking.pk + 1) is False
