"""The example units: what they start exists, and they name every part that a site consists of."""

from __future__ import annotations

import configparser
import json
import os
import secrets
import shutil
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from http.client import HTTPConnection
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import get_commands, load_command_class

from tests.bench import postgres
from tests.units import PLACE, UNITS, WEB, WORKER, environment, here, lines, pairs

NAMES = sorted(path.name for path in UNITS.glob("*.service"))


@pytest.mark.parametrize("name", NAMES)
def test_what_a_unit_starts_can_be_started(name: str) -> None:
    """Every command exists and takes the options it is given."""
    for line in lines(name):
        program, *words = line.split()
        assert program == f"{PLACE}/.venv/bin/python"
        if words[0] == "-m":
            assert words[1:3] == ["gunicorn", "proshop.wsgi"]
            continue
        assert words[0] == "manage.py"
        command = load_command_class(get_commands()[words[1]], words[1])
        command.create_parser("manage.py", words[1]).parse_args(words[2:])


def test_the_site_is_two_web_processes_workers_and_a_night() -> None:
    assert NAMES == ["hookwright-nightly.service", WEB, WORKER]
    assert "--workers=2" in lines(WEB)[-1]


@pytest.mark.parametrize("name", NAMES)
def test_a_unit_is_one(name: str, tmp_path: Path) -> None:
    """Read by systemd itself where it is installed, else as a file of its sort."""
    parser = configparser.ConfigParser(strict=False, interpolation=None)
    parser.optionxform = str  # type: ignore[assignment, method-assign]
    parser.read_string((UNITS / name).read_text())
    assert {"Unit", "Service"} <= set(parser.sections())
    if shutil.which("systemd-analyze") is None:
        return
    text = (UNITS / name).read_text().replace(PLACE, str(settings.BASE_DIR))
    text = text.replace("User=hookwright", "User=root")
    text = text.replace("EnvironmentFile=/etc/hookwright.env", "")
    unit = tmp_path / name.replace("@", "@1")
    unit.write_text(text)
    said = subprocess.run(
        ["systemd-analyze", "verify", str(unit)], capture_output=True, text=True, check=False
    )
    ours = [line for line in said.stderr.splitlines() if unit.name in line or str(unit) in line]
    assert ours == []


def test_the_example_environment_names_settings_there_are() -> None:
    told = (settings.BASE_DIR / "proshop" / "settings.py").read_text()
    for line in (UNITS / "hookwright.env.example").read_text().splitlines():
        if line and not line.startswith("#"):
            assert line.partition("=")[0] in told


# ---- started for real ----

SHOP = """
from bowlers.models import Bowler
from arsenal.models import BowlerCondition
from tests.arsenal import records
from proshop.models import Shop
shop = Shop.objects.create(name="Two Counters")
spec = records.ball_model(shop).specs.get()
records.stock_ball(shop, spec)
met = records.condition(records.house(shop))
for name in ("Wren Marsh", "Rowan Field"):
    bowler = records.customer(shop, name)
    records.fitting(bowler)
    records.owned_ball(bowler, spec)
    BowlerCondition.objects.create(shop=shop, bowler=bowler, condition=met, times_a_season=30)
"""
# For whatever is waited for: a machine with other work to do may have to compile the engine first.
PATIENCE_S = 1800.0


@pytest.fixture
def address() -> Iterator[str]:
    """An empty database on a PostgreSQL of this test's own."""
    programs = postgres.binaries()
    if programs is None:
        pytest.skip("No PostgreSQL server is installed (Debian: apt-get install postgresql).")
    with postgres.server(programs) as address:
        yield address


class Units:
    """What the units say, in this checkout instead of the example's."""

    def __init__(self, address: str, folder: Path) -> None:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port: int = free.getsockname()[1]
        # Nothing of this process's but where things are, and that it is measured, where it is.
        kept = ("PATH", "HOME", "COVERAGE_PROCESS_CONFIG")
        self.env = {name: os.environ[name] for name in kept if name in os.environ}
        example = (UNITS / "hookwright.env.example").read_text()
        self.env |= dict(pairs(example.splitlines()))
        self.env |= {"DATABASE_URL": address, "SECRET_KEY": secrets.token_urlsafe(50)}
        self.env["NUMBA_CACHE_DIR"] = settings.NUMBA_CACHE_DIR
        self.log = folder / "log"
        self.running: list[subprocess.Popen[bytes]] = []
        # As systemd gives it to a unit of Type=notify, which says through it that it is ready.
        self.told = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self.told.bind(str(folder / "notify"))
        self.told.settimeout(0.5)

    def manage(self, *words: str) -> str:
        done = subprocess.run(
            [sys.executable, "manage.py", *words],
            env=self.env, cwd=settings.BASE_DIR, capture_output=True, text=True, check=False,
        )  # fmt: skip
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    def started(self, name: str) -> subprocess.Popen[bytes]:
        """What comes before a unit's program, one after the other, then the program itself."""
        *before, program = lines(name)
        text = (UNITS / name).read_text().splitlines()
        env = {**self.env, **environment(name)}
        if "Type=notify" in text:
            env["NOTIFY_SOCKET"] = str(self.told.getsockname())
        with self.log.open("ab") as log:
            for line in before:
                subprocess.run(here(line, self.port), env=env, cwd=settings.BASE_DIR, check=True,
                               stdout=log, stderr=log)  # fmt: skip
            process = subprocess.Popen(
                here(program, self.port), env=env, cwd=settings.BASE_DIR, stdout=log, stderr=log,
                start_new_session=True,
            )  # fmt: skip
        self.running.append(process)
        return process

    def ready(self) -> None:
        """Until the web server has said that it is."""
        for _ in range(round(PATIENCE_S / 0.5)):
            self.alive()
            try:
                if b"READY=1" in self.told.recv(4096):
                    return
            except TimeoutError:
                continue
        raise TimeoutError(self.log.read_text())

    def alive(self) -> None:
        assert [one.poll() for one in self.running] == [None] * len(self.running), self.said()

    def said(self) -> str:
        return self.log.read_text()[-3000:]

    def health(self) -> tuple[int, dict[str, str]]:
        """Asked as the README asks, without the proxy."""
        wire = HTTPConnection("127.0.0.1", self.port, timeout=60)
        wire.request("GET", "/health/", headers={"X-Forwarded-Proto": "https"})
        answer = wire.getresponse()
        return answer.status, json.loads(answer.read())

    def end(self) -> None:
        self.told.close()
        for one in self.running:
            if one.poll() is None:
                os.killpg(one.pid, signal.SIGKILL)
                one.wait()


@pytest.fixture
def units(address: str, tmp_path: Path) -> Iterator[Units]:
    units = Units(address, tmp_path)
    yield units
    units.end()


def stop_signal(name: str) -> int:
    """How a unit's program is told to stop: by SIGTERM where it doesn't say."""
    said = dict(pairs((UNITS / name).read_text().splitlines()))
    return signal.Signals[said.get("KillSignal", "SIGTERM")]


def test_two_web_processes_and_two_workers_rank_a_shop_and_stop(units: Units) -> None:
    """The units' commands with the example's environment, put together as the README says."""
    units.manage("migrate", "-v0")
    units.manage("shell", "--no-imports", "-c", SHOP)
    web = units.started(WEB)
    workers = [units.started(WORKER) for _ in range(2)]
    units.ready()
    status, well = units.health()
    children = Path(f"/proc/{web.pid}/task/{web.pid}/children")
    while len(children.read_text().split()) < 2:
        # It answers as soon as the first of them does.
        units.alive()
    assert len(children.read_text().split()) == 2
    assert (status, well["database"], well["migrations"]) == (200, "well", "well")

    asked = subprocess.Popen(
        [sys.executable, "manage.py", "rerank", "--shop", "Two Counters", "--watch"],
        env=units.env, cwd=settings.BASE_DIR, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    while True:
        try:
            told, _ = asked.communicate(timeout=1)
            break
        except subprocess.TimeoutExpired:
            units.alive()
    assert asked.returncode == 0, told + units.said()
    assert "0 waiting, 0 running, 2 done, 0 failed" in told.splitlines()[-1], told
    assert units.health()[0] == 200

    for process, name in ((web, WEB), *((one, WORKER) for one in workers)):
        process.send_signal(stop_signal(name))
    assert [one.wait(PATIENCE_S) for one in units.running] == [0, 0, 0], units.said()
