"""A large shop: its lists, its search, its files, and customers entered twice."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from functools import partial

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse

from arsenal.models import OwnedBall
from bowlers.duplicates import pairs
from bowlers.models import Bowler
from proshop.files import services
from proshop.files.kinds import kind_of
from proshop.files.reading import write
from proshop.models import Shop
from tests.bench.crowd import crowd
from tests.bench.results import record

pytestmark = pytest.mark.bench

CUSTOMERS, BALLS, ON_SHELF = 10_000, 60_000, 5_000
ROWS = 10_000
REPEATS = 7


def median_ms(act: Callable[[], object]) -> float:
    act()
    took = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        act()
        took.append(1000 * (time.perf_counter() - start))
    return statistics.median(took)


@pytest.mark.django_db
def test_lists_and_searches_of_a_large_shop(
    shop: Shop, staff_client: Client, capsys: pytest.CaptureFixture[str]
) -> None:
    crowd(shop, customers=CUSTOMERS, balls=BALLS, on_shelf=ON_SHELF)
    somebody = Bowler.objects.order_by("pk")[CUSTOMERS // 2]
    ball = OwnedBall.objects.order_by("pk")[BALLS // 2]
    customers, balls = reverse("customer-list"), reverse("all-balls")
    asked = {
        "list_page_ms": (customers, "the first page of 10,000 customers"),
        "list_last_page_ms": (f"{customers}?page=200", "the last page of 10,000 customers"),
        "search_name_ms": (f"{customers}?q={somebody.name[:6]}", "customers by part of a name"),
        "search_phone_ms": (f"{customers}?q={somebody.phone[-4:]}", "customers by phone ending"),
        "search_serial_ms": (f"{customers}?q={ball.serial[:6]}", "customers by a ball’s serial"),
        "ball_page_ms": (balls, "the first page of 60,000 balls"),
        "ball_search_ms": (f"{balls}?q={ball.serial[:6]}", "60,000 balls by serial"),
        "ball_search_owner_ms": (f"{balls}?q=Ada+Reed", "60,000 balls by owner"),
        "shelf_page_ms": (reverse("shelf"), "the first page of 2,500 balls on the shelf"),
        "catalogue_page_ms": (reverse("catalogue"), "the first page of 200 models"),
    }
    lines = []
    for key, (address, says) in asked.items():
        assert staff_client.get(address).status_code == 200
        took = median_ms(partial(staff_client.get, address))
        record(key, took, f"ms, {says}, request to answer", digits=3)
        lines.append(f"  {says}: {took:.0f} ms")
    took = median_ms(lambda: pairs.pairs_of(shop))
    record("duplicates_ms", took, "ms, who of 10,000 customers was entered twice", digits=3)
    lines.append(f"  who was entered twice: {took:.0f} ms")
    with capsys.disabled():
        print("\n" + "\n".join(lines))


@pytest.mark.django_db
def test_files_of_ten_thousand_rows(
    shop: Shop, other_shop: Shop, staff: User, capsys: pytest.CaptureFixture[str]
) -> None:
    crowd(shop, customers=ROWS, balls=0, on_shelf=ROWS, models=ROWS // 2)
    lines = []
    for slug in ("models", "customers", "shelf"):
        kind = kind_of(slug)
        start = time.perf_counter()
        text = write(kind.columns, kind.records(shop))
        out = time.perf_counter() - start
        # Into an empty shop the numbers mean nothing.
        rows = [line.partition(",")[2] for line in text.splitlines()]
        fresh = text if slug == "models" else "\n".join(rows)
        start, processor = time.perf_counter(), time.process_time()
        sent = services.keep_file(
            shop=other_shop, user=staff, kind=kind, name=f"{slug}.csv", text=fresh
        )
        plan = services.plan_of(sent)
        assert plan.faults == []
        checked = time.perf_counter() - start
        done = services.import_file(sent=sent, fingerprint=plan.fingerprint, user=staff)
        imported = time.perf_counter() - start
        busy = time.process_time() - processor
        assert done.added == ROWS
        again = services.keep_file(shop=shop, user=staff, kind=kind, name="a.csv", text=text)
        assert services.plan_of(again).same == ROWS
        record(f"import_{slug}_s", imported, f"s, {ROWS:,} rows checked and imported", goal="< 10")
        record(f"import_{slug}_cpu_s", busy, "s of processor time of that")
        record(f"check_{slug}_s", checked, f"s, {ROWS:,} rows checked")
        record(f"export_{slug}_s", out, f"s, {ROWS:,} rows taken out")
        lines.append(
            f"  {slug}, {ROWS:,} rows: checked in {checked:.1f} s, checked and imported in "
            f"{imported:.1f} s ({busy:.1f} s of processor time), taken out in {out:.1f} s"
        )
    with capsys.disabled():
        print("\n" + "\n".join(lines))
