"""What the benchmarks measured: written down as they run, told when they are done.

A benchmark calls :func:`record` for each number and :func:`plot` for each curve. They gather in
``run.json``, each with the commit it was measured on; ``python -m tests.bench.results`` then writes
``RESULTS.md`` with its plots, all beside this file, and prints one JSON object on one line, the
last of ``make bench``. What takes too long for that is recorded with ``long_run=True``, in
``long_run.json``, and stays until it is measured again; the rest goes with the next ``make bench``.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import subprocess
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
HERE = Path(__file__).resolve().parent
RUN, LONG_RUN = HERE / "run.json", HERE / "long_run.json"
PAGE, PLOTS = HERE / "RESULTS.md", HERE / "plots"

Points = Sequence[tuple[float, float]]


def record(
    name: str, value: float, says: str, *, goal: str = "", long_run: bool = False, digits: int = 4
) -> None:
    """Write a number down: its key, what it is with its unit, and what it should reach if anything.

    The same key again replaces it. ``digits``: significant ones kept.
    """
    rounded = float(f"{value:.{digits}g}")
    kept: float = int(rounded) if rounded.is_integer() else rounded
    _put("numbers", name, {"value": kept, "says": says, "goal": goal}, long_run)


def plot(
    name: str,
    title: str,
    x: str,
    y: str,
    series: Mapping[str, Points],
    *,
    log: bool = False,
    long_run: bool = False,
) -> None:
    """Write curves down: ``series`` has (x, y) points by label; ``log`` for both axes."""
    curves = {
        label: [list(map(float, point)) for point in points] for label, points in series.items()
    }
    _put("plots", name, {"title": title, "x": x, "y": y, "log": log, "series": curves}, long_run)


def processor() -> str:
    """The machine, named by its processor and how many of its cores may be used."""
    name = platform.processor() or platform.machine()
    cpuinfo = Path("/proc/cpuinfo")
    if cpuinfo.exists():
        lines = cpuinfo.read_text(encoding="utf-8").splitlines()
        name = next((s.split(":")[1].strip() for s in lines if s.startswith("model name")), name)
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    return f"{name}, {cores} cores"


def commit() -> str:
    """The commit measured; ``+`` after it where files had been changed since."""
    git = ["git", "-C", str(ROOT)]
    found = subprocess.run([*git, "rev-parse", "--short", "HEAD"], capture_output=True, text=True)
    if found.returncode:
        return "unknown"
    measured = [
        "--",
        ".",
        ":!tests/bench/RESULTS.md",
        ":!tests/bench/plots",
        ":!tests/bench/*.json",
        ":!tests/LONG_RUNS.md",
        ":!tests/COVERAGE.md",
        ":!tests/physics/MUTATION.md",
    ]
    changed = subprocess.run([*git, "diff", "--quiet", "HEAD", *measured], capture_output=True)
    return found.stdout.strip() + ("+" if changed.returncode else "")


def _read(path: Path) -> dict[str, Any]:
    if not path.exists():
        return {"numbers": {}, "plots": {}}
    found: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return found


def _put(kind: str, name: str, what: dict[str, Any], long_run: bool) -> None:
    path = LONG_RUN if long_run else RUN
    found = _read(path)
    found[kind][name] = {**what, "commit": commit(), "processor": processor()}
    path.parent.mkdir(parents=True, exist_ok=True)
    new = path.with_suffix(".new")
    new.write_text(json.dumps(found, indent=1, sort_keys=True) + "\n", encoding="utf-8")
    new.replace(path)


def tell() -> dict[str, Any]:
    """Write the page and its plots; the object to print."""
    run, long_run = _read(RUN), _read(LONG_RUN)
    PLOTS.mkdir(exist_ok=True)
    plots = {**long_run["plots"], **run["plots"]}
    for name, drawn in plots.items():
        _draw(name, drawn)
    for left in PLOTS.glob("*.svg"):
        if left.stem not in plots:
            left.unlink()
    PAGE.write_text(_page(run, long_run), encoding="utf-8")
    said: dict[str, Any] = {"processor": processor(), "commit": _all(run, "commit")}
    if long_run["numbers"]:
        said["long_run_commit"] = _all(long_run, "commit")
    for found in (long_run, run):
        said |= {name: one["value"] for name, one in found["numbers"].items()}
    return said


def _all(run: dict[str, Any], of: str) -> str:
    return ", ".join(sorted({one[of] for one in run["numbers"].values()}))


def _page(run: dict[str, Any], long_run: dict[str, Any]) -> str:
    lines = [
        "# Benchmarks",
        "",
        "Written by `make bench`; don't edit. Ratios are of two things measured in one run.",
        "",
        f"Measured on {_all(run, 'processor')}, commit {_all(run, 'commit')}.",
        "",
        *_table(run["numbers"]),
    ]
    if long_run["numbers"]:
        lines += ["", "## Measured by the long run", "", *_table(long_run["numbers"], dated=True)]
    for name, drawn in sorted({**long_run["plots"], **run["plots"]}.items()):
        lines += ["", f"![{drawn['title']}](plots/{name}.svg)"]
    return "\n".join(lines) + "\n"


def _table(numbers: dict[str, Any], *, dated: bool = False) -> list[str]:
    rows = ["| key | measured | goal | what |", "|---|---|---|---|"]
    for name, one in sorted(numbers.items()):
        where = f" ({one['commit']}, {one['processor']})" if dated else ""
        rows.append(f"| `{name}` | {_shown(one['value'])} | {one['goal']} | {one['says']}{where} |")
    return rows


def _shown(value: float) -> str:
    return f"{value:,}" if abs(value) >= 10_000 else f"{value:g}"


def _draw(name: str, drawn: dict[str, Any]) -> None:
    import matplotlib

    matplotlib.use("svg")
    # The same numbers give the same file.
    matplotlib.rcParams |= {
        "svg.hashsalt": name,
        "svg.fonttype": "none",
        "font.family": "sans-serif",
    }
    from matplotlib import pyplot

    figure, axes = pyplot.subplots(figsize=(6.4, 4.0), layout="constrained")
    for label, points in drawn["series"].items():
        axes.plot(*zip(*points, strict=True), marker="o", label=label)
    if drawn["log"]:
        axes.set_xscale("log")
        axes.set_yscale("log")
    axes.set(title=drawn["title"], xlabel=drawn["x"], ylabel=drawn["y"])
    axes.grid(alpha=0.3, which="both")
    if len(drawn["series"]) > 1:
        axes.legend()
    figure.savefig(PLOTS / f"{name}.svg", metadata={"Date": None})
    pyplot.close(figure)


def main() -> None:
    parser = argparse.ArgumentParser(description="Tell what the benchmarks measured.")
    parser.add_argument("--forget", action="store_true", help="forget the last run, before another")
    if parser.parse_args().forget:
        RUN.unlink(missing_ok=True)
        return
    print(json.dumps(tell(), sort_keys=True))


if __name__ == "__main__":
    main()
