"""What ``make coverage`` found: which lines and branches no test takes, and why not.

    python -m tests.coverage_report      from var/coverage.json to tests/COVERAGE.md

Reasons stand in ``coverage_reasons.toml``, each for a file, a function of it and a piece of the
line in question, not for a number of a line, which moves. What has none is called "not explained";
a place in a compiled kernel "not seen", with the tests that its module is held by.
"""

from __future__ import annotations

import ast
import datetime as dt
import json
import sys
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fnmatch import fnmatchcase
from pathlib import Path
from typing import Any

from tests.bench.results import ROOT, commit, processor

FOUND = ROOT / "var" / "coverage.json"
PAGE = Path(__file__).resolve().parent / "COVERAGE.md"
REASONS = Path(__file__).resolve().parent / "coverage_reasons.toml"
NOT_EXPLAINED = "**not explained**"
NOT_SEEN = "not seen, compiled"
HEAD = """# What no test takes

Written by `make coverage`; don't edit: reasons are kept in `coverage_reasons.toml`.
{day}, commit {commit} (a `+` after it: files had been changed since), on {machine}.

Lines and branches of the site and the engine that ran while all of `make test` ran but its browser,
in its own processes and in those that tests start (servers, workers, commands). Migrations count as
well; no comment leaves a line out of the count. That a line ran doesn't say that a test would see
it break: `physics/MUTATION.md` does, for some modules.

- **Without a browser.** Scripts (`*.js`) aren't counted, here or anywhere. The views that they call
  are: tests ask them what the page's script would. Whether the script asks so, and what it does
  with the answer, is held by `tests/browser` alone.
- **Killed processes** can't tell what they ran. What runs only in one that `tests/faults` kills
  counts as not run.
- **Compiled kernels** can't be seen while they run compiled. Their lines are counted from the small
  case that warms each and a few tests (`UNCOMPILED` in the Makefile), run in plain Python, which is
  what takes seconds there; what those don't reach may well run compiled. The compiled ones are held
  by the numbers of `tests/physics`: a kernel's tests are those named after its module.

"""


@dataclass(frozen=True)
class Gap:
    """Lines that never ran, or a way on from a line that was never gone, within one function."""

    file: str
    function: str
    lines: str
    # The first of the lines, or the one that the way goes from.
    code: str
    is_kernel: bool = False
    why: str = NOT_EXPLAINED


@dataclass(frozen=True)
class Reason:
    """Why no test takes what begins with a line of ``function`` that has ``code`` in it.

    ``file`` and ``function`` may have asterisks.
    """

    file: str
    function: str
    code: str
    why: str

    def explains(self, gap: Gap) -> bool:
        return (
            fnmatchcase(gap.file, self.file)
            and fnmatchcase(gap.function, self.function)
            and self.code in gap.code
        )


def reasons() -> list[Reason]:
    return [Reason(**one) for one in _kept()["gap"]]


def held_by() -> dict[str, str]:
    """The tests of each module with compiled kernels, by its path."""
    return {str(file): str(tests) for file, tests in _kept()["kernels"].items()}


def _kept() -> dict[str, Any]:
    return tomllib.loads(REASONS.read_text(encoding="utf-8"))


def kernel_lines(source: str) -> set[int]:
    """Numbers of the lines that are compiled: bodies of what ``njit`` decorates."""
    return {
        line
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.FunctionDef)
        and any("njit" in ast.unparse(decorator) for decorator in node.decorator_list)
        for line in range(node.body[0].lineno, (node.end_lineno or 0) + 1)
    }


def gaps(file: str, measured: Mapping[str, Any], source: Sequence[str]) -> Iterator[Gap]:
    """What is missing of one file, as ``coverage json`` tells of it; ``source``: its lines."""
    never, kernels = set(measured["missing_lines"]), kernel_lines("\n".join(source))
    for name, function in measured["functions"].items():
        run: list[int] = []
        for line in [*sorted([*function["executed_lines"], *function["missing_lines"]]), None]:
            if line in never:
                run.append(line)
            elif run:
                lines = f"{run[0]}–{run[-1]}" if len(run) > 1 else f"{run[0]}"
                yield Gap(file, name, lines, source[run[0] - 1].strip(), run[0] in kernels)
                run = []
        for start, to in function["missing_branches"]:
            # Where it goes to lines that never ran, those say it.
            if start not in never and to not in never:
                way = f"{start} → {to if to > 0 else 'end'}"
                yield Gap(file, name, way, source[start - 1].strip(), start in kernels)


def explained(found: Sequence[Gap], why: Sequence[Reason]) -> tuple[list[Gap], list[Reason]]:
    """Gaps with their reasons, and the reasons that have nothing left to explain."""
    told, used = [], set()
    for gap in found:
        reason = next((one for one in why if one.explains(gap)), None)
        used.add(reason)
        if reason:
            gap = replace(gap, why=reason.why)
        elif gap.is_kernel:
            gap = replace(gap, why=f"{NOT_SEEN}: {held_by()[gap.file]}")
        told.append(gap)
    return told, [one for one in why if one not in used]


def totals(found: Mapping[str, Any], sources: Mapping[str, str]) -> dict[str, list[int]]:
    """Lines, never run of them, branches, never taken of them: by package, kernels apart."""
    sums: dict[str, list[int]] = {}
    for file, measured in found.items():
        package = file.split("/", 1)[0]
        kernels = kernel_lines(sources[file])
        for column, lines in enumerate(
            (
                [*measured["executed_lines"], *measured["missing_lines"]],
                measured["missing_lines"],
                [at for at, _ in (*measured["executed_branches"], *measured["missing_branches"])],
                [at for at, _ in measured["missing_branches"]],
            )
        ):
            for line in lines:
                row = f"{package}, compiled kernels" if line in kernels else package
                sums.setdefault(row, [0, 0, 0, 0])[column] += 1
    sums = dict(sorted(sums.items()))
    sums["all"] = [sum(column) for column in zip(*sums.values(), strict=True)]
    return sums


def tell(found: Mapping[str, Any], sources: Mapping[str, str], why: Sequence[Reason]) -> str:
    """The page: ``found`` has what ``coverage json`` says of each file, by its path."""
    head = HEAD.format(
        day=dt.datetime.now(dt.UTC).date().isoformat(), commit=commit(), machine=processor()
    )
    missing = [
        gap
        for file, measured in sorted(found.items())
        for gap in gaps(file, measured, sources[file].splitlines())
    ]
    told, idle = explained(missing, why)
    lines = [
        "| package | lines | never run | run | branches | never taken | taken |",
        "|---|---|---|---|---|---|---|",
    ]
    for package, (count, unrun, ways, untaken) in totals(found, sources).items():
        lines.append(
            f"| {package} | {count:,} | {unrun:,} | {_share(count, unrun)} "
            f"| {ways:,} | {untaken:,} | {_share(ways, untaken)} |"
        )
    files = {gap.file for gap in told}
    bare = sum(gap.why == NOT_EXPLAINED for gap in told)
    unseen = sum(gap.why.startswith(NOT_SEEN) for gap in told)
    lines += [
        "",
        f"Whole: {len(found) - len(files):,} of {len(found):,} files. "
        f"In the others {len(told):,} places, of which {bare:,} are not explained and "
        f"{unseen:,} are in compiled kernels where the small case doesn't come.",
        "",
        "| in | lines | the first of them | why |",
        "|---|---|---|---|",
        *(
            f"| `{gap.file}` {_code(gap.function)} | {gap.lines} | {_code(gap.code)} | {gap.why} |"
            for gap in told
        ),
    ]
    if idle:
        lines += ["", "Reasons for what is tested by now, to be taken out:", ""]
        lines += [f"- `{one.file}` `{one.function}`: {_code(one.code)}" for one in idle]
    return head + "\n".join(lines) + "\n"


def _share(all_of: int, missing: int) -> str:
    """In percent, rounded down: 100 says that nothing is missing."""
    return f"{(all_of - missing) * 1000 // all_of / 10:.1f} %" if all_of else "–"


def _code(text: str) -> str:
    return f"`{text.replace('|', '∣').replace('`', '')}`" if text else ""


def main() -> int:
    found = json.loads(FOUND.read_text(encoding="utf-8"))["files"]
    sources = {file: (ROOT / file).read_text(encoding="utf-8") for file in found}
    page = tell(found, sources, reasons())
    PAGE.write_text(page, encoding="utf-8")
    sys.stdout.write("".join(part for part in page.split("\n\n") if part.startswith("| package")))
    sys.stdout.write(f"\n\nWhat is missing, and why: {PAGE.relative_to(ROOT)}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
