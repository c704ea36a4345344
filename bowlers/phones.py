"""Phone numbers: written as people write them, found by their last digits."""

from __future__ import annotations

import re

# ITU-T E.164: an international number has 15 digits at most. An extension inside a house has few.
FEWEST_DIGITS, MOST_DIGITS = 4, 15
WRITTEN = re.compile(r"[\d\s().+/·–-]+", re.ASCII)


class PhoneFault(ValueError):
    """What is wrong with a phone number, beginning in lower case."""


def digits_of(text: str) -> str:
    return "".join(mark for mark in text if mark in "0123456789")


def phone_text(text: str) -> str:
    """A number as it is kept: as written, with single spaces. Raises :class:`PhoneFault`."""
    text = " ".join(text.split())
    count = len(digits_of(text))
    if not WRITTEN.fullmatch(text) or not FEWEST_DIGITS <= count <= MOST_DIGITS:
        raise PhoneFault(
            f"must be a phone number of {FEWEST_DIGITS} to {MOST_DIGITS} digits, with spaces, "
            "hyphens, brackets or a plus if you like. Names and extensions belong in the notes."
        )
    return text


def ending_key(text: str) -> str:
    """The digits from the last to the first: numbers with one ending begin alike."""
    return digits_of(text)[::-1]
