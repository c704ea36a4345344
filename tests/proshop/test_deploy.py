"""The example units: what they start exists, and they name every part that a site consists of."""

from __future__ import annotations

import configparser
import shutil
import subprocess
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import get_commands, load_command_class

UNITS = settings.BASE_DIR / "proshop" / "deploy"
NAMES = sorted(path.name for path in UNITS.glob("*.service"))
PLACE = "/srv/hookwright"


def lines(name: str) -> list[str]:
    """What a unit starts, in order."""
    text = (UNITS / name).read_text()
    return [line.partition("=")[2] for line in text.splitlines() if line.startswith("ExecStart")]


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
    assert NAMES == [
        "hookwright-nightly.service",
        "hookwright-web.service",
        "hookwright-worker@.service",
    ]
    assert "--workers=2" in lines("hookwright-web.service")[-1]


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
