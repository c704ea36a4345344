"""How often something was asked for lately, counted in the cache of each web process.

Against guessing and flooding, for the log's and the mail server's sake: what protects a record is
never this alone.
"""

from __future__ import annotations

import hashlib

from django.core.cache import cache


def too_often(what: str, by: str, most: int, window_s: int) -> bool:
    """Count once more that ``by`` asked for ``what``; whether that is more than ``most`` times
    since the first in a window of so many seconds. ``by`` itself isn't kept, only its digest."""
    key = f"often:{what}:{hashlib.sha256(by.encode()).hexdigest()}"
    cache.add(key, 0, window_s)
    try:
        return int(cache.incr(key)) > most
    except ValueError:
        # It ran out between the two.
        return False
