"""Compiled kernels: none is used that was compiled from other sources than there are now."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from physics import compiled

PACKAGE = {
    "__init__.py": "from physics import compiled\n\ncompiled.keep_there()\n",
    "lent.py": "SPEED = {speed}\n",
    "taken.py": (
        "from numba import njit\n\nfrom physics.lent import SPEED\n\n\n"
        "@njit(cache=True)\ndef gone(s):\n    return SPEED * s\n"
    ),
}
ASK = "from physics.taken import gone; print(gone(2.0), sum(gone.stats.cache_hits.values()))"


def asked(tree: Path, speed: float) -> list[str]:
    """What a kernel answers whose constant another module lends it, and how often it was loaded."""
    package = tree / "physics"
    package.mkdir(exist_ok=True)
    for name, text in PACKAGE.items():
        (package / name).write_text(text.format(speed=speed))
    shutil.copy(compiled.__file__, package / "compiled.py")
    done = subprocess.run(
        [sys.executable, "-B", "-c", ASK],
        cwd=tree,
        env={**os.environ, "NUMBA_CACHE_DIR": str(tree / "kept")},
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout.split()


def test_a_kernel_knows_of_a_change_in_a_module_it_takes_from(tmp_path: Path) -> None:
    assert asked(tmp_path, 3.0) == ["6.0", "0"]
    # Nothing changed: what was compiled is loaded.
    assert asked(tmp_path, 3.0) == ["6.0", "1"]
    assert asked(tmp_path, 5.0) == ["10.0", "0"]
    assert asked(tmp_path, 5.0) == ["10.0", "1"]
    # Back again, as after an update that is taken back.
    assert asked(tmp_path, 3.0) == ["6.0", "1"]


def test_the_name_is_of_names_and_contents(tmp_path: Path) -> None:
    seen = set()
    for name, text in [("a.py", "1"), ("a.py", "2"), ("b.py", "2"), ("c.py", ""), ("c.txt", "3")]:
        (tmp_path / name).write_text(text)
        seen.add(compiled.hash_of_sources(".py", home=tmp_path))
    assert len(seen) == 4


def test_a_process_started_by_another_keeps_in_the_same_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    compiled.keep_there()
    first = os.environ["NUMBA_CACHE_DIR"]
    compiled.keep_there()
    assert os.environ["NUMBA_CACHE_DIR"] == first == str(tmp_path / compiled.name())
    # Started by one of before an update.
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "kernels-0123456789abcdef"))
    assert str(compiled.folder()) == first


def test_old_folders_go_and_the_newest_of_them_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    old = [f"kernels-{digit * 16}" for digit in "abc"]
    for age, name in enumerate([*old, "physics_" + "0" * 40, "mine", compiled.name()]):
        (tmp_path / name / "physics_x").mkdir(parents=True)
        (tmp_path / name / "physics_x" / "kernel.nbc").touch()
        os.utime(tmp_path / name, (1e9 - age, 1e9 - age))
    compiled.clear_away()
    assert {path.name for path in tmp_path.iterdir()} == {old[0], "mine", compiled.name()}
    # What was used is the newest from then on.
    assert (tmp_path / compiled.name()).stat().st_mtime > 1e9
    compiled.clear_away()
    assert {path.name for path in tmp_path.iterdir()} == {old[0], "mine", compiled.name()}


def test_nothing_kept_is_nothing_to_clear(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "nowhere"))
    compiled.clear_away()
    assert not (tmp_path / "nowhere").exists()


def test_without_being_told_it_is_kept_where_it_can_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("NUMBA_CACHE_DIR")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr(compiled, "HOME", tmp_path / "site" / "physics")
    assert compiled.place() == tmp_path / "site" / "var" / "numba"
    # A checkout where that can't be made.
    shutil.rmtree(tmp_path / "site")
    (tmp_path / "site").touch()
    assert compiled.place() == tmp_path / "cache" / "hookwright" / "numba"
    assert compiled.folder().parent == compiled.place()


def test_the_site_and_the_command_line_keep_in_one_folder() -> None:
    ask = "import os, {}; print(os.environ['NUMBA_CACHE_DIR'])"
    env = {name: value for name, value in os.environ.items() if name != "NUMBA_CACHE_DIR"}
    root = Path(compiled.__file__).parents[1]
    told = {
        subprocess.run(
            [sys.executable, "-c", ask.format(module)],
            cwd=root, env=env, capture_output=True, text=True, check=True,
        ).stdout
        for module in ("physics", "proshop.settings", "physics.cases")
    }  # fmt: skip
    assert told == {f"{compiled.place() / compiled.name()}\n"}


def test_where_nothing_can_be_written_the_first_place_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Compiling says then what is wrong with it; nothing is run out of what others made."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr(compiled, "HOME", tmp_path / "site" / "physics")
    monkeypatch.setattr(tempfile, "gettempdir", lambda: str(tmp_path))
    monkeypatch.setattr(os, "access", lambda *asked: False)
    assert compiled.place() == tmp_path / "site" / "var" / "numba"
