"""A night: the demo's customers ranked by one worker and by two, on PostgreSQL; and the morning:
how long the site takes to its first page, and a ranking from what is kept."""

from __future__ import annotations

import gc
import json
import os
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings

from arsenal.engine import menu, options, ranking, run_ranking
from arsenal.engine.solved import Solved
from arsenal.kept import store
from tests.arsenal import questions
from tests.arsenal.drawer import Drawer
from tests.bench import postgres
from tests.bench.results import record

pytestmark = pytest.mark.bench

ENGINE = {"ENGINE_THREADS": "1"}
CUSTOMERS = 12


@pytest.fixture(scope="module")
def site() -> Iterator[dict[str, str]]:
    """The environment of a demo shop on a PostgreSQL of its own."""
    programs = postgres.binaries()
    if programs is None:
        pytest.skip("No PostgreSQL server is installed (Debian: apt-get install postgresql).")
    with postgres.server(programs) as address:
        surroundings = os.environ | ENGINE | {"DATABASE_URL": address}
        for command in (["migrate", "-v0"], ["demo", "-v0"], ["warm"]):
            run(surroundings, "manage.py", *command)
        yield surroundings


def run(surroundings: dict[str, str], *command: str) -> str:
    done = subprocess.run(
        [sys.executable, *command],
        cwd=settings.BASE_DIR,
        env=surroundings,
        check=True,
        stdout=subprocess.PIPE,
        text=True,
    )
    return done.stdout


def peak_mb(process: subprocess.Popen[bytes]) -> float:
    """Most memory a process has had resident so far; 0 once it is gone."""
    with suppress(OSError):
        for line in Path(f"/proc/{process.pid}/status").read_text().splitlines():
            if line.startswith("VmHWM"):
                return int(line.split()[1]) / 1024
    return 0.0


def worked_off(surroundings: dict[str, str], workers: int) -> tuple[dict[str, Any], float]:
    """All customers ranked as if for the first time by so many workers; and the most megabytes
    resident of any."""
    run(surroundings, "-m", "tests.bench.night", "anew", str(CUSTOMERS))
    command = [sys.executable, "manage.py", "db_worker", "--batch", "--no-startup-delay", "-v0"]
    started = [
        subprocess.Popen(
            command, cwd=settings.BASE_DIR, env=surroundings, stdout=subprocess.DEVNULL
        )
        for _ in range(workers)
    ]
    most = 0.0
    while any(worker.poll() is None for worker in started):
        most = max(most, *(peak_mb(worker) for worker in started))
        time.sleep(0.2)
    told: dict[str, Any] = json.loads(run(surroundings, "-m", "tests.bench.night", "told"))
    assert told["done"] == told["asked"] > 0
    return told, most


def test_two_workers_against_one(site: dict[str, str]) -> None:
    others = os.getloadavg()[0]
    one, rss = worked_off(site, 1)
    two, _ = worked_off(site, 2)
    record(
        "workers_speedup",
        one["seconds"] / two["seconds"],
        f"two workers against one, engine threads one each, {one['done']} customers, "
        f"the last one's wait for the other included; load average before {others:.1f}",
        goal="≥ 1.9",
    )
    record("rss_mb", rss, "most memory resident of a worker that ranks them all", goal="≤ 400")
    record("customers_per_min", 60 * two["done"] / two["seconds"], "ranked by two workers")


def test_the_first_page(site: dict[str, str]) -> None:
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        port = trial.getsockname()[1]
    run(site, "manage.py", "collectstatic", "--noinput", "-v0")
    command = [sys.executable, "-m", "gunicorn", "proshop.wsgi", "--preload", "--workers=2"]
    began = time.perf_counter()
    server = subprocess.Popen(
        [*command, f"--bind=127.0.0.1:{port}", "--log-level=error"],
        cwd=settings.BASE_DIR,
        env=site,
    )
    try:
        while True:
            assert server.poll() is None
            with suppress(OSError):
                urllib.request.urlopen(f"http://127.0.0.1:{port}/sign-in/").read()
                break
            time.sleep(0.02)
        waited = time.perf_counter() - began
    finally:
        server.terminate()
        server.wait()
    record(
        "first_page_s",
        waited,
        "from starting the site to its first page, engine loaded",
        goal="≤ 3",
    )


def full_question(finish: str = "2000") -> dict[str, Any]:
    """Six owned balls, the first with this finish, 33 to order, eight conditions."""
    covers = ("solid", "hybrid", "pearl", "urethane")
    oils = [
        {
            "length_ft": float(length),
            "volume_ml": 25.0,
            "inside_to_outside_ratio": ratio,
            "shape": "blended",
        }
        for length in (36, 39, 41, 44)
        for ratio in (3.0, 8.0)
    ]
    first = questions.question()["conditions"][0]
    return questions.question(
        bag=[
            questions.owned(n, f"Own {n}", covers[n % 4], finish if n == 0 else "2000")
            for n in range(6)
        ],
        catalogue=[
            questions.new(n, f"Tree {n}", covers[n % 4], "2000",
                          label=questions.label(2.48 + 0.002 * n, 0.052 - 0.0005 * n))
            for n in range(33)
        ],
        conditions=[
            first | {"id": n, "name": f"Oil {n}", "oil": oil, "times_a_season": 5}
            for n, oil in enumerate(oils)
        ],
        menu={"layouts": menu.layout_fields(), "finishes": list(menu.FINISHES)},
    )  # fmt: skip


@pytest.mark.django_db
def test_the_full_menu_from_what_is_kept() -> None:
    """From a question's numbers to every option's value on every condition, pieces out of the
    database: the same again, and after one owned ball's finish has changed."""

    def laid_out(asked: dict[str, Any]) -> tuple[float, int]:
        gc.collect()
        began = time.perf_counter()
        setting = ranking.setting_of(asked, Solved(store))
        laid = options.menu_of(asked, setting.who)
        ranking._screen(laid, setting, 1, lambda share: None)
        return time.perf_counter() - began, len(laid.changes)

    laid_out(full_question())
    again, count = min(laid_out(full_question()) for _ in range(3))
    changed, _ = min(laid_out(full_question(finish)) for finish in ("500", "1000", "3000"))
    said = f"{count} options on 8 conditions, bodies, values and mean shots"
    record("menu_warm_s", again, f"the same menu again, {said}", goal="≤ 0.05")
    record("menu_one_ball_s", changed, f"after one owned ball changed, {said}", goal="≤ 0.05")


def test_a_ranking_from_what_is_kept() -> None:
    """The same again, and after one owned ball's finish has changed."""
    drawer = Drawer()
    asked = questions.question()
    bag = [asked["bag"][0] | {"finish": "1000", "games": 3}, *asked["bag"][1:]]
    taken = []
    for question in (asked, asked, questions.question(bag=bag)):
        began = time.perf_counter()
        run_ranking(question, 1, lambda percent, note: None, drawer)
        taken.append(time.perf_counter() - began)
    for name, seconds, says in zip(
        ("ranking_cold_s", "ranking_again_s", "ranking_one_ball_s"),
        taken,
        ("with nothing kept", "again from what is kept", "after one ball's finish has changed"),
        strict=True,
    ):
        record(name, seconds, f"a whole ranking {says}, doubts and words included")
