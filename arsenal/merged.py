"""What becomes of records of which a customer can have one, when two customers are made one."""

from __future__ import annotations

from arsenal.lanes.models import BowlerCondition
from arsenal.office.models import TaskFound
from arsenal.phone.models import PhoneLink
from bowlers.models import Bowler

LINK = (
    *("nonce", "token_digest", "shown_name", "shares_next_ball", "takes_reports", "good_until"),
    *("revoked_at", "opened_on", "made_by"),
)


def settle_met(kept: BowlerCondition, other: BowlerCondition) -> bool:
    """One condition met in one state, noted twice: as often as the larger number says."""
    if other.times_a_season <= kept.times_a_season:
        return False
    kept.times_a_season = other.times_a_season
    return True


def settle_phone_links(kept: PhoneLink, other: PhoneLink) -> bool:
    """The link that still opens goes on; of two that do, the one of the customer who stays."""
    if kept.is_open or not other.is_open:
        return False
    for name in LINK:
        setattr(kept, name, getattr(other, name))
    # No two rows may answer to one address, not even until the other is removed.
    PhoneLink.objects.filter(pk=other.pk).update(token_digest=f"gone {other.pk}")
    return True


def count_once(bowler: Bowler) -> None:
    """Of what two rankings found of one customer the newer is counted among the gaps."""
    counted = TaskFound.objects.filter(bowler=bowler, latest=True)
    newest = counted.order_by("-found_on", "-ranking").first()
    if newest is not None:
        counted.exclude(ranking=newest.ranking_id).update(latest=False)
