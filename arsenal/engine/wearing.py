"""Oil after so many games on the lane, played once and kept."""

from __future__ import annotations

import hashlib
from typing import cast

from django.core.cache import cache

from physics import MODEL_VERSION, lane, wear


def worn(fresh: lane.OilTable, games: int, lane_factor: float) -> wear.Worn:
    """The league's play on this table, from the cache if this model has played it before.

    Raises InputError where there are more games than anybody bowls on one oiling.
    """
    key = _key(fresh, games, lane_factor)
    found = cast("wear.Worn | None", cache.get(key))
    if found is None:
        found = wear.play(fresh, games, lane_factor=lane_factor)
        cache.set(key, found, timeout=None)
    return found


def is_known(fresh: lane.OilTable, games: int, lane_factor: float) -> bool:
    """Whether :func:`worn` answers at once."""
    return games == 0 or _key(fresh, games, lane_factor) in cache


def _key(fresh: lane.OilTable, games: int, lane_factor: float) -> str:
    digest = hashlib.sha256(f"{MODEL_VERSION} {games} {lane_factor:.4f}".encode())
    digest.update(fresh.distance_ft.tobytes())
    digest.update(fresh.units.tobytes())
    return f"worn-{digest.hexdigest()}"
