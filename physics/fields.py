"""Reading a JSON case field by field, with errors that say which field and what is allowed."""

import math
from collections.abc import Mapping, Sequence
from typing import Any, TypeVar

from physics.errors import InputError

T = TypeVar("T")


class Fields:
    """One JSON object of a case. Read what is known, then call :meth:`done` to refuse the rest."""

    def __init__(self, raw: Any, path: str = "") -> None:
        if not isinstance(raw, Mapping):
            raise InputError(path or "case", raw, "a JSON object")
        self.raw: Mapping[str, Any] = raw
        self.path = path
        self._read: set[str] = set()

    def name(self, field: str) -> str:
        return f"{self.path}.{field}" if self.path else field

    def has(self, field: str) -> bool:
        return field in self.raw

    def value(self, field: str, allowed: str) -> Any:
        self._read.add(field)
        if field not in self.raw:
            raise InputError(self.name(field), None, f"{allowed} (required)")
        return self.raw[field]

    def number(
        self,
        field: str,
        default: float | None = None,
        *,
        low: float = -math.inf,
        high: float = math.inf,
        above: float = -math.inf,
    ) -> float:
        """A finite number from ``low`` to ``high``, and more than ``above``."""
        self._read.add(field)
        if not self.has(field) and default is not None:
            return default
        return checked(
            self.name(field), self.value(field, _range(low, high, above)), low, high, above
        )

    def numbers(
        self,
        field: str,
        *,
        count: int | None = None,
        low: float = -math.inf,
        high: float = math.inf,
    ) -> list[float]:
        """A list of finite numbers, of a given length if one is asked for."""
        items = self.value(field, _list_of(count))
        return checked_list(self.name(field), items, count=count, low=low, high=high)

    def choice(self, field: str, choices: Sequence[str], default: str | None = None) -> str:
        self._read.add(field)
        if not self.has(field) and default is not None:
            return default
        allowed = "one of " + ", ".join(f'"{c}"' for c in choices)
        value = self.value(field, allowed)
        if value not in choices:
            raise InputError(self.name(field), value, allowed)
        return str(value)

    def child(self, field: str) -> "Fields":
        return Fields(self.value(field, "a JSON object"), self.name(field))

    def children(self, field: str) -> list["Fields"]:
        items = self.value(field, "a list of JSON objects")
        if not _is_list(items):
            raise InputError(self.name(field), items, "a list of JSON objects")
        return [Fields(item, f"{self.name(field)}[{i}]") for i, item in enumerate(items)]

    def done(self, result: T = None) -> T:  # type: ignore[assignment]
        """Refuse fields nobody asked for; hands ``result`` through."""
        for field in self.raw:
            if field not in self._read:
                known = ", ".join(sorted(self._read))
                named = self.name(str(field) or '""')
                raise InputError(named, self.raw[field], f"only: {known}")
        return result


def checked(
    name: str, value: Any, low: float = -math.inf, high: float = math.inf, above: float = -math.inf
) -> float:
    """The value as a float, or an :class:`InputError`; True and False are not numbers."""
    allowed = _range(low, high, above)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise InputError(name, value, allowed)
    try:
        number = float(value)
    except OverflowError:  # JSON's whole numbers have no limit, floats do
        raise InputError(name, value, allowed) from None
    if not math.isfinite(number) or not low <= number <= high or not number > above:
        raise InputError(name, value, allowed)
    return number


def checked_list(
    name: str,
    items: Any,
    *,
    count: int | None = None,
    low: float = -math.inf,
    high: float = math.inf,
) -> list[float]:
    """A list of finite numbers, of a given length if one is asked for."""
    if not _is_list(items) or (count is not None and len(items) != count):
        raise InputError(name, items, _list_of(count))
    return [checked(f"{name}[{i}]", v, low, high) for i, v in enumerate(items)]


def _range(low: float, high: float, above: float) -> str:
    if above > low:
        lower = f"more than {above:g}"
    elif low > -math.inf:
        lower = f"at least {low:g}"
    else:
        lower = ""
    upper = f"at most {high:g}" if high < math.inf else ""
    bounds = " and ".join(part for part in (lower, upper) if part)
    return f"a finite number, {bounds}" if bounds else "a finite number"


def _list_of(count: int | None) -> str:
    return "a list of numbers" if count is None else f"a list of {count} numbers"


def _is_list(value: Any) -> bool:
    return isinstance(value, Sequence) and not isinstance(value, str | bytes)
