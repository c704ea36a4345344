"""What the long runs found: each command that makes one adds its row to ``LONG_RUNS.md``.

A run that tries the same on the same commit and database, made in pieces, is one row: what was
tried and what went wrong add up.
"""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import astuple, dataclass, replace
from pathlib import Path

from tests.bench.results import commit, processor

PAGE = Path(__file__).resolve().parent / "LONG_RUNS.md"
_NUMBER = re.compile(r"\d{1,3}(?:,\d{3})+|\d+")
HEAD = """# What the long runs found

Written by the commands themselves; don't edit. The newest stand below; a `+` after a commit: files
had been changed since. Times are by the clock, on whatever else the machine was doing then.
Mutations of the physics are told in `physics/MUTATION.md`, pages under load in `load/REPORT.md`.

| command | database | tried | of | faults | minutes | day | commit | machine | found |
|---|---|---|---|---|---|---|---|---|---|
"""


@dataclass(frozen=True)
class Run:
    """One row. ``tried`` of what ``of`` names, in ``minutes``; ``faults``: how many went wrong."""

    command: str
    database: str
    tried: int
    of: str
    faults: int
    minutes: float
    day: str = ""
    commit: str = ""
    machine: str = ""
    found: str = ""


def keep(run: Run, *, adds: bool = False, page: Path = PAGE) -> Run:
    """Write a run down, added to the one before where it ``adds`` a piece; the row as it is."""
    run = replace(
        run, day=dt.datetime.now(dt.UTC).date().isoformat(), commit=commit(), machine=processor()
    )
    rows = read(page)
    for at in reversed(range(len(rows) if adds else 0)):
        before = rows[at]
        if _key(before) == _key(run):
            run = replace(
                run,
                tried=before.tried + run.tried,
                faults=before.faults + run.faults,
                minutes=before.minutes + run.minutes,
                found=_both(before.found, run.found),
            )
            del rows[at]
            break
    rows.append(run)
    new = page.with_suffix(".new")
    new.write_text(HEAD + "".join(map(_line, rows)), encoding="utf-8")
    new.replace(page)
    return run


def _key(run: Run) -> tuple[str, str, str, str]:
    return run.command, run.database, run.of, run.commit.rstrip("+")


def _both(before: str, now: str) -> str:
    """What two pieces found: numbers of the same sentence add up, other words stand together."""
    if _NUMBER.sub("#", before) == _NUMBER.sub("#", now):
        return _sum(before, now)
    return f"{before}; {now}"


def _sum(before: str, now: str) -> str:
    earlier = iter(_NUMBER.findall(before))
    return _NUMBER.sub(lambda one: f"{_int(one[0]) + _int(next(earlier)):,}", now)


def _int(text: str) -> int:
    return int(text.replace(",", ""))


def read(page: Path = PAGE) -> list[Run]:
    """The rows written so far."""
    if not page.exists():
        return []
    lines = page.read_text(encoding="utf-8").split("|---|\n", 1)[1].splitlines()
    rows = [[cell.strip() for cell in line.strip("|").split(" | ")] for line in lines]
    return [
        Run(
            command=row[0].strip("` "),
            database=row[1],
            tried=_int(row[2]),
            of=row[3],
            faults=_int(row[4]),
            minutes=float(row[5]),
            day=row[6],
            commit=row[7],
            machine=row[8],
            found=row[9],
        )
        for row in rows
    ]


def _line(run: Run) -> str:
    cells = [
        f"{value:,}" if isinstance(value, int) else f"{value:.1f}" if isinstance(value, float)
        else str(value).replace("|", "/").replace("\n", " ")
        for value in astuple(run)
    ]  # fmt: skip
    return f"| `{cells[0]}` | {' | '.join(cells[1:])} |\n"
