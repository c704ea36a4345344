"""Customers entered twice: found, told apart, and made one with both histories kept."""

import datetime
import random
from collections.abc import Callable
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from arsenal.rerank.models import Rerank, RerankEntry
from bowlers import services
from bowlers.duplicates import merging, pairs
from bowlers.duplicates.pairs import NEAR_NAME, SAME_NAME, SAME_PHONE, Said
from bowlers.models import Bowler, CustomerMerge, Fitting, ToldApart, search_key
from bowlers.phones import ending_key
from proshop.models import Shop, StaleRecord
from tests.arsenal import records
from tests.bowlers.conftest import Log


def said(*people: tuple[str, str] | tuple[str, str, int]) -> list[Said]:
    return [
        Said(number, search_key(name), ending_key(phone), *(born or (None,)))
        for number, (name, phone, *born) in enumerate(people, start=1)
    ]


@pytest.mark.parametrize(
    ("one", "two", "reason"),
    [
        ("Dana Kowalski", "dana  KOWALSKI", SAME_NAME),
        ("Dana Kowalski", "Kowalski Dana", SAME_NAME),
        ("Zoë Prat-Lund", "Zoe Prat-Lund", SAME_NAME),
        ("Dana Kowalski", "Dana Kowalsky", NEAR_NAME),
        ("Dana Kowalski", "Dana Kowalksi", NEAR_NAME),
        ("Dana Kowalski", "Dana Kowalskii", NEAR_NAME),
        ("Dana Kowalski", "Dna Kowalski", NEAR_NAME),
        ("Dana Kowalski", "Kowalsky, Dana", None),
        ("Dana Kowalski", "Dina Kowalsky", None),
        ("Al Li", "Al Lu", None),
    ],
)
def test_names_that_differ_by_a_letter(one: str, two: str, reason: str | None) -> None:
    found = pairs.found(said((one, ""), (two, "")))
    assert found == ({(1, 2): [reason]} if reason else {})


@pytest.mark.parametrize(
    ("one", "two", "same"),
    [
        ("+1 212 555 0142", "555-0142", True),
        ("0142", "0142", True),
        ("212 555 0142", "213 555 0142", True),
        ("555 0142", "556 0142", False),
        ("0142", "555 0142", False),
        ("", "", False),
    ],
)
def test_phones_that_end_alike(one: str, two: str, same: bool) -> None:
    found = pairs.found(said(("Ada Reed", one), ("Bo Lind", two)))
    assert found == ({(1, 2): [SAME_PHONE]} if same else {})


def test_the_likeliest_pair_comes_first_and_other_birth_years_last() -> None:
    found = pairs.found(
        said(
            ("Tom Okafor", "555 0001", 1960),
            ("Tom Okafor", "555 0001", 1990),
            ("Ada Reed", "555 0002"),
            ("Bo Lind", "555 0002"),
            ("Dana Kowalski", "555 0003"),
            ("Dana Kowalsky", "555 0003"),
        )
    )
    assert list(found) == [(5, 6), (3, 4), (1, 2)]


@given(st.lists(st.text("abc ", min_size=5, max_size=9), max_size=8))
def test_pairs_are_what_trying_all_of_them_finds(names: list[str]) -> None:
    """Everybody near to somebody entered earlier is in a pair, and nobody else is second in one."""
    people = [person for person in said(*((name, "") for name in names)) if person.search_key]

    def near(one: str, two: str) -> bool:
        one, two = (" ".join(sorted(text.split())) for text in (one, two))
        if one == two:
            return True
        if min(len(one), len(two)) < pairs.FEWEST_LETTERS:
            return False
        shorter = [{t, *(t[:i] + t[i + 1 :] for i in range(len(t)))} for t in (one, two)]
        return bool(shorter[0] & shorter[1])

    found = pairs.found(people)
    by_pk = {person.pk: person.search_key for person in people}
    assert all(near(by_pk[first], by_pk[second]) for first, second in found)
    expected = {
        later.pk
        for place, later in enumerate(people)
        if any(near(earlier.search_key, later.search_key) for earlier in people[:place])
    }
    assert {second for _, second in found} == expected


@pytest.fixture
def twins(shop: Shop) -> tuple[Bowler, Bowler]:
    kept = Bowler.objects.create(
        shop=shop, name="Dana Kowalski", phone="555 0142", goal="Carry more", average=190
    )
    gone = Bowler.objects.create(
        shop=shop, name="Dana Kowalsky", goal="Hit the pocket", born=1984, hand="left"
    )
    return kept, gone


def merge(kept: Bowler, gone: Bowler, user: User | None = None, **values: Any) -> CustomerMerge:
    return merging.merge(
        kept=kept, gone=gone, values=values, versions=(kept.version, gone.version), user=user
    )


def test_every_record_moves_and_both_histories_stay(
    twins: tuple[Bowler, Bowler], staff: User, log: Log
) -> None:
    kept, gone = twins
    fitting = services.start_fitting(
        bowler=gone, fitted_on=datetime.date(2026, 5, 3), notes="", logged_by=staff
    )
    log(fitting)
    grip = records.grip(gone)
    spec = records.ball_model(kept.shop).specs.get()
    ball = records.owned_ball(gone, spec)
    condition = records.condition(records.house(kept.shop))
    seen = records.observation(ball, condition)
    gone.notes = "Wrote to her"
    gone.save_checked(gone.version)
    number = gone.pk
    record = merge(kept, gone, staff, born=1984, goal="Carry more\nHit the pocket")
    kept.refresh_from_db()
    assert (kept.born, kept.goal, kept.version) == (1984, "Carry more\nHit the pocket", 2)
    for moved in (fitting, grip, ball, seen):
        moved.refresh_from_db()
        assert moved.bowler == kept
        newest = moved.history.first()
        assert newest.history_change_reason == f"Merged with Dana Kowalsky, customer {number}"
    assert not Bowler.objects.filter(pk=number).exists()
    assert [e.history_type for e in Bowler.history.filter(id=number)] == ["-", "~", "+"]
    assert record.gone_said["Born"] == "1984"
    assert dict(record.counts) == {"fittings": 1, "grips": 1, "owned balls": 1, "observations": 1}


def test_everything_that_belongs_to_a_customer_is_known_to_merging() -> None:
    """A kind of record added later moves by itself; this says which there are."""
    known = {(model._meta.label, name) for model, name in merging.relations()}
    assert {
        ("bowlers.Fitting", "bowler"),
        ("bowlers.Grip", "bowler"),
        ("bowlers.CustomerMerge", "kept"),
        ("arsenal.OwnedBall", "bowler"),
        ("arsenal.Ranking", "bowler"),
        ("arsenal.Observation", "bowler"),
        ("arsenal.BowlerCondition", "bowler"),
        ("arsenal.PhoneLink", "bowler"),
        ("arsenal.PhoneReport", "bowler"),
    } <= known
    assert ("bowlers.ToldApart", "first") not in known
    assert not any("istorical" in label for label, _ in known)


def test_merging_again_takes_the_earlier_merges_along(shop: Shop, staff: User) -> None:
    one, two, three = (Bowler.objects.create(shop=shop, name=f"Ada {n}") for n in range(3))
    first = merge(two, three, staff)
    merge(one, Bowler.objects.get(pk=two.pk), staff)
    first.refresh_from_db()
    assert first.kept == one
    assert one.merges.count() == 2


def test_a_merge_of_what_was_changed_meanwhile_does_nothing(
    twins: tuple[Bowler, Bowler], staff: User
) -> None:
    kept, gone = twins
    Bowler.objects.get(pk=gone.pk).save_checked(gone.version)
    with pytest.raises(StaleRecord):
        merge(kept, gone, staff)
    assert Bowler.objects.count() == 2
    assert CustomerMerge.objects.count() == 0


def test_the_pages_lead_from_the_list_to_one_customer(
    twins: tuple[Bowler, Bowler], staff_client: Client
) -> None:
    kept, gone = twins
    Fitting.objects.create(shop=gone.shop, bowler=gone)
    listed = staff_client.get("/customers/duplicates/").content.decode()
    assert "nearly the same name" in listed
    address = f"/customers/{kept.pk}/merge/?with={gone.pk}"
    assert address.replace("&", "&amp;") in listed
    page = staff_client.get(address)
    form = page.context["form"]
    # What one lacks is taken from the other; of two texts both stay.
    assert {name: form[name].initial for name in ("born", "phone", "goal", "hand")} == {
        "born": "gone",
        "phone": "kept",
        "goal": "both",
        "hand": "kept",
    }
    assert "Fittings: 1" in page.content.decode()
    answer = staff_client.post(address, {**records.form_values(page, form), "hand": "gone"})
    assert answer["Location"] == f"/customers/{kept.pk}/"
    kept.refresh_from_db()
    assert (kept.hand, kept.born, kept.phone) == ("left", 1984, "555 0142")
    assert kept.goal == "Carry more\nHit the pocket"
    # The old address leads to the customer, whose page tells of the merge.
    followed = staff_client.get(f"/customers/{gone.pk}/", follow=True)
    assert followed.redirect_chain[-1][0] == f"/customers/{kept.pk}/"
    told = staff_client.get(f"/merges/{kept.merges.get().pk}/").content.decode()
    for words in ("Dana Kowalsky", "Fittings: 1", "Hit the pocket", "1984", "by sam"):
        assert words in told
    assert "What changed, and who changed it" in told


def test_a_merge_page_that_is_out_of_date_says_so(
    twins: tuple[Bowler, Bowler], staff_client: Client
) -> None:
    kept, gone = twins
    address = f"/customers/{kept.pk}/merge/?with={gone.pk}"
    page = staff_client.get(address)
    Bowler.objects.get(pk=gone.pk).save_checked(gone.version)
    answer = staff_client.post(address, records.form_values(page, page.context["form"]))
    assert "was changed after you opened this page" in answer.content.decode()
    again = staff_client.post(address, records.form_values(answer, answer.context["form"]))
    assert again.status_code == 302
    assert Bowler.objects.count() == 1


def test_two_people_are_not_asked_about_again(
    twins: tuple[Bowler, Bowler], staff_client: Client
) -> None:
    kept, gone = twins
    for _ in range(2):
        staff_client.post(f"/customers/{gone.pk}/two/", {"with": kept.pk})
    assert ToldApart.objects.count() == 1
    assert (
        "Nobody looks entered twice" in staff_client.get("/customers/duplicates/").content.decode()
    )
    # They can still be merged by hand, and what told them apart goes then.
    merge(kept, gone)
    assert ToldApart.objects.count() == 0


def test_the_other_record_is_searched_for(
    twins: tuple[Bowler, Bowler], shop: Shop, staff_client: Client
) -> None:
    kept, gone = twins
    other = Bowler.objects.create(shop=shop, name="D. Kowal", phone="555 0199")
    suggested = staff_client.get(f"/customers/{kept.pk}/merge/").content.decode()
    assert f"?with={gone.pk}" in suggested
    assert f"?with={other.pk}" not in suggested
    searched = staff_client.get(f"/customers/{kept.pk}/merge/", {"q": "0199"}).content.decode()
    assert f"?with={other.pk}" in searched


@pytest.mark.parametrize("odd", ["x", "-1", "9" * 30, "0", "٣"])
def test_odd_numbers_merge_nothing(
    odd: str, twins: tuple[Bowler, Bowler], staff_client: Client
) -> None:
    kept, _ = twins
    assert staff_client.get(f"/customers/{kept.pk}/merge/", {"with": odd}).status_code in {200, 404}
    staff_client.post(f"/customers/{kept.pk}/two/", {"with": odd})
    assert (Bowler.objects.count(), ToldApart.objects.count()) == (2, 0)


def test_nothing_of_another_shop_is_merged_or_shown(
    twins: tuple[Bowler, Bowler],
    other_shop: Shop,
    staff_client: Client,
    other_staff_client: Client,
) -> None:
    kept, gone = twins
    foreign = Bowler.objects.create(shop=other_shop, name="Dana Kowalski", phone="555 0142")
    for address in (
        f"/customers/{kept.pk}/merge/?with={foreign.pk}",
        f"/customers/{foreign.pk}/merge/?with={kept.pk}",
    ):
        assert staff_client.get(address).status_code == 404
        assert staff_client.post(address).status_code == 404
    assert "Nobody looks" in other_staff_client.get("/customers/duplicates/").content.decode()
    record = merge(kept, gone)
    assert other_staff_client.get(f"/merges/{record.pk}/").status_code == 404
    assert other_staff_client.get(f"/customers/{gone.pk}/").status_code == 404


def test_pairs_with_one_customer_are_those_of_all_that_they_are_in(shop: Shop) -> None:
    """Each of thirty people with names and phones so alike that most are in some pair."""
    draw = random.Random(3)
    for n in range(30):
        name = "".join(draw.choice("ab") for _ in range(draw.randint(6, 7)))
        Bowler.objects.create(shop=shop, name=name, phone=f"555 000{n % 9}" if n % 2 else "")
    everybody = pairs.pairs_of(shop)
    first, second = everybody[0][0]
    ToldApart.objects.create(shop=shop, first_id=first, second_id=second)
    everybody = everybody[1:]
    assert len(everybody) > 30
    for bowler in Bowler.objects.for_shop(shop):
        assert pairs.pairs_with(bowler) == [one for one in everybody if bowler.pk in one[0]]


@pytest.mark.parametrize("couples", [1, 15])
def test_looking_for_pairs_costs_the_same_queries_however_many(
    shop: Shop,
    staff_client: Client,
    couples: int,
    django_assert_num_queries: Callable[[int], Any],
) -> None:
    for number in range(couples):
        for _ in range(2):
            Bowler.objects.create(shop=shop, name=f"Customer {'abcdefghijklmnop'[number] * 9}")
    with django_assert_num_queries(6):
        page = staff_client.get("/customers/duplicates/")
    assert page.context["page"].paginator.count == couples


def test_an_answer_that_was_never_offered_merges_nothing(
    twins: tuple[Bowler, Bowler], staff_client: Client
) -> None:
    kept, gone = twins
    address = f"/customers/{kept.pk}/merge/?with={gone.pk}"
    page = staff_client.get(address)
    sent = {**records.form_values(page, page.context["form"]), "hand": "neither"}
    answer = staff_client.post(address, sent)
    assert list(answer.context["form"].errors) == ["hand"]
    assert Bowler.objects.count() == 2


def test_one_customer_is_not_told_apart_from_themselves(
    twins: tuple[Bowler, Bowler], staff_client: Client
) -> None:
    kept, _ = twins
    answer = staff_client.post(f"/customers/{kept.pk}/two/", {"with": kept.pk})
    assert answer["Location"] == "/customers/duplicates/"
    assert not ToldApart.objects.exists()


def test_of_two_that_stand_in_one_run_of_rankings_one_stays_without_a_word(
    twins: tuple[Bowler, Bowler],
) -> None:
    """What the site works out for itself isn't told of as if somebody had made it."""
    kept, gone = twins
    run = Rerank.objects.create(shop=kept.shop, asked_at=timezone.now())
    for bowler in twins:
        RerankEntry.objects.create(rerank=run, bowler=bowler)
    record = merge(kept, gone)
    assert [entry.bowler for entry in run.entries.all()] == [kept]
    assert (record.moved, record.left) == ({}, {})
