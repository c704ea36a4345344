"""What the visit to the chain amounts to: numbers for the benchmarks, and a page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from tests.bench.results import commit, processor, record
from tests.load.chain import Chain
from tests.load.crowd import LOOKS_S, USERS, Visit, percentile
from tests.load.pages import Work
from tests.load.statements import SLOW_MS, Statement

GOAL_MS, OFFICE_MS, WORK_MS = 150.0, 300.0, 50.0


def told(
    built: Chain,
    took_s: float,
    queries: Mapping[str, Sequence[str]],
    work: Mapping[str, Work],
    brisk: Visit,
    hurried: Visit,
    threaded: Visit,
    slow: Sequence[Statement],
    plans: Sequence[str] | None,
) -> str:
    """The page, with its numbers recorded on the way."""
    p95 = {name: percentile(some, 0.95) for name, some in brisk.took_ms.items()}
    over = [name for name, ms in p95.items() if ms > (OFFICE_MS if name == "office" else GOAL_MS)]
    _record(built, took_s, queries, work, brisk, hurried, threaded, p95, over)
    heavy = [name for name in sorted(work, key=lambda one: -work[one].first_ms)
             if work[name].first_ms > WORK_MS]  # fmt: skip
    rows = [
        f"| {name} | {len(some)} | {percentile(some, 0.5):.0f} | {p95[name]:.0f} | "
        f"{percentile(some, 0.99):.0f} | {len(queries.get(name, ()))} | "
        f"{work[name].first_ms:.0f} | {work[name].again_ms:.0f} |"
        for name, some in sorted(brisk.took_ms.items(), key=lambda item: -p95[item[0]])
    ]
    lines = [
        "# A chain under load",
        "",
        "Written by `make load`; don't edit.",
        "",
        f"{_size(built)} on PostgreSQL, {processor()}, server, database and visitors on one "
        f"machine; commit {commit()}.",
        "",
        f"{USERS} people at once, who look at a page for {LOOKS_S:g} s on average before they open "
        f"the next: {len(brisk.all_ms):,} pages in {brisk.seconds:.0f} s, {len(brisk.faults)} "
        f"faults. Milliseconds from asking to the last byte; goal {GOAL_MS:g} at p95, the owner's "
        f"page {OFFICE_MS:g}. Without a pause between pages {USERS} people are served "
        f"{hurried.pages_a_second:.0f} pages a second; by as many processes with four threads each "
        f"{threaded.pages_a_second:.0f}.",
        "",
        f"Over the goal: {', '.join(over) or 'none'}.",
        "",
        "Processor: milliseconds that the site itself takes, without the database or whatever else "
        f"the machine does; {WORK_MS:g} at most. For a customer whom this process shows for the "
        f"first time, and again. Over that: {', '.join(heavy) or 'none'}. The {USERS} people "
        "themselves took "
        f"{1000 * brisk.own_s / max(1, len(brisk.all_ms)):.1f} ms of it for a page.",
        "",
        "| page | opened | p50 | p95 | p99 | queries | processor | again |",
        "|---|---|---|---|---|---|---|---|",
        *rows,
    ]
    if faults := brisk.faults + hurried.faults + threaded.faults:
        lines += ["", "Faults:", "", *sorted({f"- {one}" for one in faults})]
    if slow:
        lines += ["", "## Statements that took most of the database's time", "",
                  "| calls | mean ms | longest ms | statement |", "|---|---|---|---|"]  # fmt: skip
        for one in slow:
            said = one.text.replace("|", "\\|")
            lines.append(f"| {one.calls:,} | {one.mean_ms:.2f} | {one.longest_ms:.0f} | `{said}` |")
        lines += ["", f"## How the longest, of those over {SLOW_MS} ms, were carried out", ""]
        for plan in plans or ():
            lines += ["```", plan.rstrip(), "```", ""]
        if plans is None:
            lines.append("Not asked: this database and its log were given (`LOAD_DATABASE`).")
        elif not plans:
            lines.append("There were none.")
    return "\n".join(lines).rstrip() + "\n"


def _size(built: Chain) -> str:
    names = {"bowlers_bowler": "customers", "arsenal_ownedball": "balls",
             "bowlers_delivery": "deliveries", "arsenal_ranking": "rankings"}  # fmt: skip
    return ", ".join(f"{built.counts[table]:,} {said}" for table, said in names.items())


def _record(
    built: Chain,
    took_s: float,
    queries: Mapping[str, Sequence[str]],
    work: Mapping[str, Work],
    brisk: Visit,
    hurried: Visit,
    threaded: Visit,
    p95: Mapping[str, float],
    over: Sequence[str],
) -> None:
    said = f"{USERS} people on {_size(built)}"
    every = brisk.all_ms
    for share in (50, 95, 99):
        record(
            f"load_p{share}_ms", percentile(every, share / 100), f"ms, a page of any kind, {said}",
            goal="≤ 150" if share == 95 else "", long_run=True, digits=3,
        )  # fmt: skip
        office = percentile(brisk.took_ms["office"], share / 100)
        record(
            f"load_office_p{share}_ms", office, f"ms, the owner's page, {said}",
            goal="≤ 300" if share == 95 else "", long_run=True, digits=3,
        )  # fmt: skip
    others = {name: ms for name, ms in p95.items() if name != "office"}
    worst = max(others, key=lambda name: others[name])
    record("load_worst_p95_ms", others[worst], f"ms, p95 of the slowest page ({worst}), {said}",
           goal="≤ 150", long_run=True, digits=3)  # fmt: skip
    record("load_pages_over_goal", len(over), f"pages of {len(p95)} over their goal: "
           f"{', '.join(over) or 'none'}", goal="0", long_run=True)  # fmt: skip
    faults = len(brisk.faults) + len(hurried.faults) + len(threaded.faults)
    record("load_faults", faults, f"faults, {said}", goal="0",
           long_run=True)  # fmt: skip
    record("load_pages_a_second", hurried.pages_a_second,
           f"pages a second without pauses, {said}", long_run=True, digits=3)  # fmt: skip
    record("load_pages_a_second_threaded", threaded.pages_a_second,
           f"the same with four threads a process, {said}", long_run=True, digits=3)  # fmt: skip
    busiest = max(work, key=lambda name: work[name].first_ms)
    record("load_most_processor_ms", work[busiest].first_ms, "ms of the processor that the page "
           f"with most ({busiest}) takes of the site, {_size(built)}", goal=f"≤ {WORK_MS:g}",
           long_run=True, digits=3)  # fmt: skip
    most = max(queries, key=lambda name: len(queries[name]))
    record("load_most_queries", len(queries[most]), f"queries of the page with most ({most})",
           long_run=True)  # fmt: skip
    if took_s > 5:
        record("load_build_s", took_s, f"s to build {_size(built)}", long_run=True, digits=3)
