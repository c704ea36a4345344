"""Against guessing: addresses that lead nowhere are answered a few times, then not for a while.

A token has 256 bits, so that this is for the log's and the database's sake. Counted in the cache of
each web process and by network address; an address that leads somewhere is always answered.
"""

from __future__ import annotations

from django.http import HttpRequest

from proshop.often import too_often
from proshop.requests import client_address

MOST_MISSES, WINDOW_S = 20, 600


def missed(request: HttpRequest) -> bool:
    """Count a miss; whether there were too many from there."""
    return too_often("phone-miss", client_address(request), MOST_MISSES, WINDOW_S)
