"""The house keeps its order: what each package may know of the others.

views → services → physics. `physics` knows numbers only, people know nothing of balls, and each
app meets physics at one door.
"""

import ast
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).resolve().parent.parent
PACKAGES = ("proshop", "bowlers", "arsenal", "physics")
# A module, or a package once it has rooms.
DOORS = ("bowlers/engine", "arsenal/engine")
# What comes out of the doors may be called by its name: the refusal and the plain record.
THROUGH_THE_DOORS = {"physics.errors.InputError", "physics.measure.Spread"}
# The command that compiles the kernels before anybody asks, and where they are kept.
WARMING = Path("proshop/management/commands/warm.py")
KEPT = Path("proshop/settings.py")


def modules(package: str) -> Iterator[Path]:
    for path in sorted((ROOT / package).rglob("*.py")):
        if "migrations" not in path.parts:
            yield path.relative_to(ROOT)


def imported(path: Path) -> set[str]:
    """Full names of everything a module imports, wherever in it, relative names resolved."""
    names: set[str] = set()
    for node in ast.walk(ast.parse((ROOT / path).read_text())):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            package = path.parts[: len(path.parts) - node.level] if node.level else ()
            base = ".".join([*package, *([node.module] if node.module else [])])
            names |= {f"{base}.{alias.name}" for alias in node.names}
    return names


def packages_of(path: Path) -> set[str]:
    return {name.split(".")[0] for name in imported(path)}


@pytest.mark.parametrize("package", PACKAGES)
def test_every_package_is_there_to_be_checked(package: str) -> None:
    assert len(list(modules(package))) > 3


@pytest.mark.parametrize("path", list(modules("physics")), ids=str)
def test_physics_knows_numbers_only(path: Path) -> None:
    forbidden = {"django", "proshop", "bowlers", "arsenal", "sqlite3", "psycopg", "plotly"}
    assert not packages_of(path) & forbidden


def test_the_rigid_body_engine_is_for_making_tables_and_for_tests_only() -> None:
    """What serves a page or a ranking never imports it; the pin table's generator may."""
    generator = ("physics", "pindeck")
    for package in PACKAGES:
        for path in modules(package):
            if path.parts[:2] != generator:
                assert "mujoco" not in packages_of(path), path


@pytest.mark.parametrize("path", list(modules("bowlers")), ids=str)
def test_people_know_nothing_of_balls(path: Path) -> None:
    assert "arsenal" not in packages_of(path)


@pytest.mark.parametrize(
    "path", [path for package in PACKAGES[:3] for path in modules(package)], ids=str
)
def test_each_app_meets_physics_at_one_door(path: Path) -> None:
    is_door = str(path).removesuffix(".py").startswith(DOORS)
    if not is_door and path not in {WARMING, KEPT}:
        names = {name for name in imported(path) if name.split(".")[0] == "physics"}
        assert names <= THROUGH_THE_DOORS


def test_a_breach_would_be_seen() -> None:
    """The reading of imports itself: plain, from, nested and relative ones."""
    assert "physics" in packages_of(Path("bowlers/engine/__init__.py"))
    assert "physics" in packages_of(WARMING)
    assert "proshop.access.staff_required" in imported(Path("proshop/views.py"))


def test_every_package_is_pinned_with_its_hashes() -> None:
    """`requirements.txt` has one exact version of each, within what `pyproject.toml` asks for."""
    text = (ROOT / "requirements.txt").read_text()
    entries = re.split(r"\n(?=[a-z0-9])", text.split("\n", 2)[2])
    pins = {}
    for entry in entries:
        name, _, version = entry.split()[0].partition("==")
        assert version, entry
        assert "--hash=sha256:" in entry, entry
        pins[canonicalize_name(name.split("[")[0])] = version
    assert len(pins) == len(entries) > 50
    asked = tomllib.loads((ROOT / "pyproject.toml").read_text())
    wanted = [*asked["project"]["dependencies"], *asked["dependency-groups"]["checked"]]
    for one in map(Requirement, wanted):
        assert one.specifier.contains(pins[canonicalize_name(one.name)]), one


def test_nothing_else_lies_at_the_top() -> None:
    allowed = {
        *PACKAGES,
        *("tests", "docs", "var", "manage.py", "Makefile", "pyproject.toml", "requirements.txt"),
        *("README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE"),
    }
    seen = {entry.name for entry in ROOT.iterdir() if not entry.name.startswith((".", "__"))}
    assert seen <= allowed
