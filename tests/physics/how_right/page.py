"""The page as Markdown: what fails first, then every rung, then what to try at home."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from physics import MODEL_VERSION
from tests.physics.how_right import demonstrations
from tests.physics.how_right.checks import Count
from tests.physics.how_right.rungs import Finding, Found, Picture, Rung

MARK = {True: "holds", False: "**FAILED**", None: "–"}
STATUSES = (
    "*published*: read in the source named; *published, second-hand*: an account of a source; "
    "*derived*: elementary mechanics or geometry, worked out apart from the package; *common "
    "practice, no source*; *from memory*: nobody looked it up; *estimate of this project*; "
    "*invented truth*: drawn at random from the model's own priors."
)


@dataclass(frozen=True)
class Step:
    """A rung with what was found of it; None where it was left out of a quick run."""

    rung: Rung
    found: Found | None


def page(steps: Sequence[Step], counts: Mapping[str, Count], made_on: str) -> str:
    lines = [
        "# How right is it?",
        "",
        f"Made by `python -m tests.physics.how_right` on {made_on}, model {MODEL_VERSION}. Every "
        "result was computed by that command, but for two that take many minutes and carry their "
        "own date.",
        "",
        STATUSES,
        "",
        *_summary(steps, counts),
        "",
    ]
    for number, step in enumerate(steps, start=1):
        lines += _rung(number, step, counts)
    return "\n".join(
        [*lines, demonstrations.at_home(), *map(_shown, demonstrations.pictures()), ""]
    )


def _summary(steps: Sequence[Step], counts: Mapping[str, Count]) -> list[str]:
    held = [f for s in steps if s.found for f in s.found.findings if f.holds is not None]
    lines = [f"**{sum(bool(f.holds) for f in held)} of {len(held)} findings hold.**"]
    if counts:
        passed, failed = (sum(getattr(c, n) for c in counts.values()) for n in ("passed", "failed"))
        lines[0] += f" Of the automatic checks behind them {passed} hold and {failed} fail."
    lines.append("What fails is shown as failed, and nothing was moved to hide it:")
    lines.append("")
    for number, step in enumerate(steps, start=1):
        missed = [f for f in step.found.findings if f.holds is False] if step.found else []
        if missed:
            title = f"{number}. {step.rung.title}"
            lines.append(f"- [{step.rung.title}](#{_anchor(title)}): {_said(missed)}")
    return lines


def _said(missed: Sequence[Finding]) -> str:
    if len(missed) > 3:
        return f"{len(missed)} findings"
    return "; ".join(f"{f.what}: {f.result}, asked for {f.tolerance}" for f in missed)


def _rung(number: int, step: Step, counts: Mapping[str, Count]) -> list[str]:
    rung, found = step.rung, step.found
    lines = [f"## {number}. {rung.title}", "", rung.about, ""]
    if found is None:
        lines += ["Left out of this quick run.", ""]
    elif found.findings:
        lines += [
            "| what is checked | source | status | asked for | result | |",
            "|---|---|---|---|---|---|",
            *(_row(finding) for finding in found.findings),
            "",
        ]
    for words in found.words if found else ():
        lines += [words, ""]
    for picture in found.pictures if found else ():
        lines += [_shown(picture), ""]
    if rung.files:
        files = [
            f"[`test_{name}.py`](test_{name}.py)"
            + (f" ({counts[name].words()})" if name in counts else "")
            for name in rung.files
        ]
        lines += [f"Held by {', '.join(files)}.", ""]
    return lines


def _row(finding: Finding) -> str:
    cells = (
        finding.what,
        finding.source,
        finding.status,
        finding.tolerance,
        finding.result,
        MARK[finding.holds],
    )
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def _shown(picture: Picture) -> str:
    return f"![{picture.caption}](how_right/pictures/{picture.name}.svg)\n\n*{picture.caption}*"


def _anchor(title: str) -> str:
    """The place of a heading as code hosts make it."""
    return re.sub(r"[^\w -]", "", title.lower()).replace(" ", "-")
