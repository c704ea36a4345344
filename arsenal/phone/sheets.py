"""What staff put on a customer's page from the counter, and take off it again."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from django.db import transaction

from arsenal.phone import words
from arsenal.phone.models import PhoneSheet

if TYPE_CHECKING:
    from django.contrib.auth.models import User

    from bowlers.models import Bowler

# More than anybody reads on an approach; the page stays light.
MOST_SHEETS = 6
CARED = "Surface and care are for the shop, between sessions."


class Full(Exception):
    """As many are on the page as it takes."""


def show_night(*, bowler: Bowler, plan: Mapping[str, Any], user: User) -> PhoneSheet:
    """Put a plan for a night on the page, in place of an earlier one for that condition."""
    return _show(
        bowler=bowler,
        heading=f"A night on {plan['condition']}",
        lines=words.night_lines(plan),
        closing=words.night_closing(plan),
        user=user,
    )


def show_sides(
    *, bowler: Bowler, found: Mapping[str, Any], surfaced: bool, user: User
) -> PhoneSheet:
    """Put two balls side by side on the page; ``surfaced``: with another surface or care."""
    closing = f"Estimates. {CARED}" if surfaced else "Estimates: trust what you see more."
    return _show(
        bowler=bowler,
        heading=words.sides_heading(found),
        lines=words.sides_lines(found),
        closing=closing,
        user=user,
    )


@transaction.atomic
def _show(
    *, bowler: Bowler, heading: str, lines: list[str], closing: str, user: User
) -> PhoneSheet:
    there = list(PhoneSheet.objects.select_for_update().filter(bowler=bowler))
    sheet = next((sheet for sheet in there if sheet.heading == heading), None)
    if sheet is None and len(there) >= MOST_SHEETS:
        raise Full
    sheet = sheet or PhoneSheet(bowler=bowler, shop=bowler.shop, heading=heading)
    sheet.lines, sheet.closing, sheet.shown_by = lines, closing, user
    if sheet._state.adding:
        sheet.save()
    else:
        sheet.save_checked(sheet.version)
    return sheet


def take_off(sheet: PhoneSheet) -> None:
    """The page is without it the next time it is opened with a signal; its history stays."""
    sheet.delete()
