"""``python -m tests.physics.how_right``: makes the page *How right is it?* and its pictures anew.

``--learning JSON`` and ``--spread JSON`` keep what ``python -m physics learning --json`` and
``python manage.py spread --json`` wrote, with today's date. ``--checks XML`` counts the checks in a
JUnit report of ``pytest tests/physics`` in place of running them (two to five minutes). ``--quick``
leaves out them and the slow rungs, and prints instead of writing. ``--seal JSON`` prints the
prediction of one ball through four finishes as one line, and its SHA-256 beside it.
"""

from __future__ import annotations

import argparse
import datetime
import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from physics.errors import InputError
from tests.physics.how_right import answers, checks, demonstrations, page
from tests.physics.how_right.ladder import LADDER
from tests.physics.how_right.rungs import Picture

HERE = Path(__file__).parent
PAGE, PICTURES = HERE.parent / "HOW_RIGHT.md", HERE / "pictures"
# What a kept answer must hold to be one of that command.
KEPT_FIELDS = {"learning": "laws", "spread": "with_ring_oil"}


def steps(*, quick: bool) -> list[page.Step]:
    """Every rung with what is found of it now, told on standard error as it goes."""
    found = []
    for rung in LADDER:
        print(f"{rung.title}…", file=sys.stderr)
        found.append(page.Step(rung, rung.find() if rung.quick or not quick else None))
    return found


def write(junit: Path | None) -> None:
    made = steps(quick=False)
    pictures = [p for step in made if step.found for p in step.found.pictures]
    pictures += demonstrations.pictures()
    _draw(pictures)
    today = datetime.date.today().isoformat()
    # Before the checks run as well, since one of them reads the page.
    PAGE.write_text(page.page(made, {}, today), encoding="utf-8")
    counts = checks.read(junit) if junit else checks.run()
    PAGE.write_text(page.page(made, counts, today), encoding="utf-8")
    print(f"Wrote {PAGE} and {len(pictures)} pictures.", file=sys.stderr)


def _draw(pictures: Sequence[Picture]) -> None:
    PICTURES.mkdir(exist_ok=True)
    for old in PICTURES.glob("*.svg"):
        old.unlink()
    for picture in pictures:
        (PICTURES / f"{picture.name}.svg").write_text(picture.svg, encoding="utf-8")


def keep(name: str, path: Path) -> None:
    """Store what a long command wrote, with today's date."""
    answer = _json(name, path)
    if not isinstance(answer, dict) or not {KEPT_FIELDS[name], "model_version"} <= answer.keys():
        raise InputError(name, str(path), f"what the {name} command prints with --json")
    told = {"made_on": datetime.date.today().isoformat(), "answer": answer}
    text = json.dumps(told, indent=1, ensure_ascii=False) + "\n"
    (answers.KEPT / f"{name}.json").write_text(text, encoding="utf-8")


def _json(name: str, path: Path) -> Any:
    try:
        return json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise InputError(name, str(path), f"a file of JSON ({error})") from None


def main(arguments: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.physics.how_right", description=__doc__)
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    for name in KEPT_FIELDS:
        parser.add_argument(f"--{name}", type=Path, metavar="JSON")
    parser.add_argument("--checks", type=Path, metavar="XML")
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--seal", type=Path, metavar="JSON")
    asked = parser.parse_args(arguments)
    try:
        if asked.seal:
            case = demonstrations.read_case(_json("seal", asked.seal))
            text, seal = demonstrations.sealed(case)
            sys.stdout.write(text)
            print(f"SHA-256 {seal}", file=sys.stderr)
            return 0
        for name in KEPT_FIELDS:
            if getattr(asked, name):
                keep(name, getattr(asked, name))
    except InputError as error:
        print(f"{error.field}: {error.value} isn't {error.allowed}.", file=sys.stderr)
        return 2
    if asked.quick:
        print(page.page(steps(quick=True), {}, datetime.date.today().isoformat()))
    else:
        write(asked.checks)
    return 0


if __name__ == "__main__":
    sys.exit(main())
