"""The one error the package raises for input it can't use."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any


class InputError(ValueError):
    """Input that can't be computed with: which field, what it held, what is allowed.

    ``field`` is a path into the case as the caller wrote it (``holes[0].depth_in``), ``allowed``
    is a sentence a person can act on.
    """

    def __init__(self, field: str, value: Any, allowed: str) -> None:
        super().__init__(f"{field}: {value!r} is not allowed; allowed: {allowed}")
        self.field = field
        self.value = value
        self.allowed = allowed


@contextmanager
def within(path: str) -> Iterator[None]:
    """Put the way to a part of the case in front of the field its reader names."""
    try:
        yield
    except InputError as refused:
        if refused.field.startswith(path):
            raise
        raise InputError(f"{path}.{refused.field}", refused.value, refused.allowed) from None
