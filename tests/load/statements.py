"""Which statements took PostgreSQL longest, and how it went about them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.db import connection

# What the server is told: count all statements, and be ready to write down how slow ones went.
SLOW_MS = 5
OPTIONS = (
    "shared_preload_libraries=pg_stat_statements,auto_explain",
    "auto_explain.log_analyze=on",
    "auto_explain.log_timing=off",
    "auto_explain.log_buffers=on",
    "shared_buffers=512MB",
    "max_wal_size=8GB",
)
LONGEST = 1200


@dataclass(frozen=True)
class Statement:
    """One statement with its numbers taken out: how often, and milliseconds at a time."""

    text: str
    calls: int
    mean_ms: float
    longest_ms: float


def begin(*, explain: bool) -> bool:
    """Count from now on, and ``explain`` slow ones in the server's log, which has to be one's own;
    False where the server doesn't count."""
    with connection.cursor() as cursor:
        cursor.execute("SHOW shared_preload_libraries")
        row: Any = cursor.fetchone()
        if "pg_stat_statements" not in row[0]:
            return False
        cursor.execute("CREATE EXTENSION IF NOT EXISTS pg_stat_statements")
        cursor.execute("SELECT pg_stat_statements_reset()")
        if explain:
            cursor.execute(f"ALTER SYSTEM SET auto_explain.log_min_duration = {SLOW_MS}")
            cursor.execute("SELECT pg_reload_conf()")
    return True


def slowest(count: int = 12) -> list[Statement]:
    """By all the time they took together."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT query, calls, mean_exec_time, max_exec_time FROM pg_stat_statements"
            " WHERE dbid = (SELECT oid FROM pg_database WHERE datname = current_database())"
            " ORDER BY total_exec_time DESC LIMIT %s",
            [count],
        )
        return [Statement(_short(row[0]), *row[1:]) for row in cursor.fetchall()]


def _short(text: str) -> str:
    text = " ".join(text.split())
    between = re.sub(r"SELECT .{160,}? FROM ", "SELECT … FROM ", text)
    return between[:400]


def plans(log: Path, count: int = 6) -> list[str]:
    """How the longest since :func:`begin` were carried out, one of each sort, from the server's
    log."""
    if not log.exists():
        return []
    found: dict[str, tuple[float, str]] = {}
    text = log.read_text(encoding="utf-8", errors="replace")
    for entry in re.split(r"\n(?=\d{4}-\d\d-\d\d )", text):
        said = re.search(r"duration: ([\d.]+) ms  plan:\n(.*)", entry, re.DOTALL)
        if said is None or "Query Text: SELECT" not in said[2]:
            continue
        milliseconds, plan = float(said[1]), said[2]
        sort = re.sub(r"'[^']*'|\d+", "?", plan.split("\n")[0])
        if sort not in found or found[sort][0] < milliseconds:
            found[sort] = milliseconds, plan
    longest = sorted(found.values(), reverse=True)[:count]
    return [f"{ms:.0f} ms\n{_plan(plan)}" for ms, plan in longest]


def _plan(plan: str) -> str:
    first, _, rest = plan.partition("\n")
    return f"{_short(first)}\n{rest[:LONGEST]}"
