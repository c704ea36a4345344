"""``python -m physics COMMAND``: numbers without the site.

``shot``, ``layout``, ``drill``, ``measure``: one JSON case on standard input, one result out.
``robot``, ``offset``, ``learning``: a report, a table or with ``--json`` one object. ``robot``
takes rows ``[[laydown_board, launch_deg, mph], ...]`` on standard input; with ``--json`` it answers
those alone, ``[[entry_board, entry_deg], ...]``. Exit status 2 and one JSON line on standard error
for input that can't be used.
"""

import json
import sys
from typing import Any

from physics import cases
from physics.errors import InputError

REPORTS = ("robot", "offset", "learning")


def main(arguments: list[str]) -> int:
    name, options = arguments[0] if arguments else "", arguments[1:]
    try:
        if name in REPORTS and options in ([], ["--json"]):
            print(_report(name, as_json=bool(options)))
            return 0
        if name in cases.COMMANDS and not options:
            case = _read("case", "one JSON object on standard input")
            print(json.dumps(cases.COMMANDS[name](case)))
            return 0
    except InputError as error:
        return _refuse(error.field, error.value, error.allowed)
    commands = f"{'|'.join(cases.COMMANDS)}, or {'|'.join(REPORTS)} [--json]"
    return _refuse("command", " ".join(arguments), f"python -m physics {commands}")


def _report(name: str, *, as_json: bool) -> str:
    # Imported where it is asked for: the cases need none of it.
    from physics import offset, robot, seasons

    if name == "learning":
        found = seasons.run()
        return json.dumps(found) if as_json else seasons.table(found)
    if name == "offset":
        moved = offset.report()
        return json.dumps(moved) if as_json else offset.table(moved)
    rows = _read_if_any("rows", "a JSON list of rows [laydown_board, launch_deg, mph], or nothing")
    result = robot.report(rows)
    if not as_json:
        return robot.table(result, rows)
    return json.dumps(result if rows is None else result["predictions"])


def _read_if_any(field: str, allowed: str) -> Any:
    """What standard input holds, as JSON; None if it is a terminal or empty."""
    if sys.stdin is None or sys.stdin.isatty():
        return None
    return _read(field, allowed, empty=True)


def _read(field: str, allowed: str, *, empty: bool = False) -> Any:
    try:
        text = sys.stdin.read()
        return None if empty and not text.strip() else json.loads(text)
    except (ValueError, RecursionError) as error:
        raise InputError(field, str(error), allowed) from None


def _refuse(field: str, value: Any, allowed: str) -> int:
    message = {"field": field, "value": _plain(value), "allowed": allowed}
    print(json.dumps(message), file=sys.stderr)
    return 2


def _plain(value: Any) -> Any:
    """The value as strict JSON: NaN and infinities, which JSON lacks, become words."""
    if isinstance(value, float) and (value != value or abs(value) == float("inf")):
        return str(value)
    if isinstance(value, list):
        return [_plain(v) for v in value]
    if isinstance(value, dict):
        return {k: _plain(v) for k, v in value.items()}
    return value


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
