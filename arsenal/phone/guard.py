"""Against guessing: addresses that lead nowhere are answered a few times, then not for a while.

A token has 256 bits, so that this is for the log's and the database's sake. Counted in the cache of
each web process and by network address; an address that leads somewhere is always answered.
"""

from __future__ import annotations

from django.core.cache import cache
from django.http import HttpRequest

from proshop.requests import client_address

MOST_MISSES, WINDOW_S = 20, 600


def missed(request: HttpRequest) -> bool:
    """Count a miss; whether there were too many from there."""
    key = f"phone-miss:{client_address(request)}"
    cache.add(key, 0, WINDOW_S)
    try:
        return int(cache.incr(key)) > MOST_MISSES
    except ValueError:
        # It ran out between the two.
        return False
