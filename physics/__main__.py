"""``python -m physics shot|layout|drill``: one JSON case on standard input, one result out.

Exit status 2 and one JSON line on standard error for input that can't be used.
"""

import json
import sys
from typing import Any

from physics import cases
from physics.errors import InputError


def main(arguments: list[str]) -> int:
    if len(arguments) != 1 or arguments[0] not in cases.COMMANDS:
        commands = "|".join(cases.COMMANDS)
        return _refuse("command", " ".join(arguments), f"python -m physics {commands}")
    try:
        case = json.load(sys.stdin)
    except (ValueError, RecursionError) as error:
        return _refuse("case", str(error), "one JSON object on standard input")
    try:
        result = cases.COMMANDS[arguments[0]](case)
    except InputError as error:
        return _refuse(error.field, error.value, error.allowed)
    print(json.dumps(result))
    return 0


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
