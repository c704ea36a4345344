"""Full menus by brute force: the whole lane searched for every option on every condition.

It takes hours, so it is done condition by condition of one customer after the other, and what is
done is kept under ``var/brute`` by the hash of the numeric package: stopped, it goes on from there.

    python -m tests.bench.brute_menu fast 18        # so many customers, by the averaged solver
    python -m tests.bench.brute_menu reference 2    # by the reference solver

The reference solver takes the averaged one's place in every search: in a process of its own, whose
kernels are compiled into a cache of their own. Its answer is what a ranking makes of the menu: the
leaders on each condition settled by the reference solver, the others behind them.
"""

from __future__ import annotations

import json
import os
import sys
import time
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from tests.bench.menus import Question

Array = NDArray[np.float64]
ROOT = Path(__file__).resolve().parents[2]
FAST, REFERENCE = "fast", "reference"
# Steps of the reference solver: within 0.02 board of the exact one (RESULTS.md).
STEPS = 120
# Leaders of each condition that a ranking would go on with.
LEADERS = 80


def home() -> Path:
    """Where what this code found is kept."""
    from arsenal.engine.solved import code_hash

    found = ROOT / "var" / "brute" / code_hash().hex()[:16]
    found.mkdir(parents=True, exist_ok=True)
    return found


def keep_questions(inputs: Sequence[Mapping[str, Any]]) -> None:
    """The questions to be answered, unless they are kept: another day's differ by its games."""
    at = home() / "questions.json"
    if not at.exists():
        at.write_text(json.dumps(inputs), encoding="utf-8")


def questions() -> list[Question]:
    from tests.bench import menus

    found = json.loads((home() / "questions.json").read_text(encoding="utf-8"))
    return [menus.question_of(inputs) for inputs in found]


def piece(solver: str, customer: int, condition: int) -> Path:
    return home() / f"{solver}-{customer:02}-{condition}.npz"


def worked(solver: str, customers: int) -> None:
    """What is missing of so many customers, one piece after the other."""
    asked = questions()[:customers]
    missing = [
        (c, j)
        for c, one in enumerate(asked)
        for j in range(len(one.setting.tasks))
        if not piece(solver, c, j).exists()
    ]
    began = time.perf_counter()
    for done, (c, j) in enumerate(missing):
        _keep(piece(solver, c, j), **_found(solver, asked[c], c, j))
        left = (time.perf_counter() - began) / (done + 1) * (len(missing) - done - 1)
        print(f"{solver}: {asked[c].name}, condition {j + 1}; {left / 60:.0f} min left", flush=True)


def _found(solver: str, asked: Question, customer: int, j: int) -> dict[str, Array]:
    """Of every option: its value by brute force (``true``), and as answered (``got``)."""
    from tests.physics import brute

    met = asked.setting
    there = [met.tasks[j]], [met.factors[j]]
    true = brute.lines(met.who, asked.options, *there).value[:, 0]
    if solver == FAST:
        got = asked.answered([j])
        return {
            "true": true, "got": got.value[:, 0], "board": got.board[:, 0],
            "launch_deg": got.launch_deg[:, 0],
        }  # fmt: skip
    from physics import menu, worth

    fast = np.load(piece(FAST, customer, j))
    order = np.argsort(-fast["got"], kind="stable")[:LEADERS]
    near = worth.Lines(*(fast[name][order, None] for name in ("board", "launch_deg", "got")))
    leading = menu.settled(
        met.who, [asked.options[int(i)] for i in order], there[0], near, lane_factors=there[1]
    )
    got = fast["got"] - 1.0
    got[order] = leading.value[:, 0]
    return {"true": true, "got": got}


def _keep(path: Path, **found: Array) -> None:
    new = path.with_suffix(".new")
    with new.open("wb") as file:
        np.savez_compressed(file, **found)  # type: ignore[arg-type]
    new.replace(path)


def _reference_for_averaged() -> None:
    """Let every search throw by the reference solver. Before the searches are first imported."""
    from tests.bench import thrown_exactly

    assert "physics.aim" not in sys.modules
    thrown_exactly.instead_of_averaged(STEPS)


def run(solver: str, customers: int) -> None:
    """:func:`worked` in a process of its own."""
    import subprocess

    cache = Path(os.environ.get("NUMBA_CACHE_DIR", ROOT / "var" / "numba"))
    surroundings = dict(os.environ)
    if solver == REFERENCE:
        surroundings["NUMBA_CACHE_DIR"] = str(cache.with_name("numba-reference"))
    command = [sys.executable, "-m", "tests.bench.brute_menu", solver, str(customers)]
    subprocess.run(command, cwd=ROOT, env=surroundings, check=True)


if __name__ == "__main__":
    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "proshop.settings")
    if sys.argv[1] == REFERENCE:
        _reference_for_averaged()
    django.setup()
    worked(sys.argv[1], int(sys.argv[2]))
