"""What this app adds to the looks at an installation: whether the engine computes."""

from __future__ import annotations

from arsenal import engine
from proshop.health import Finding, look


@look("engine")
def computes() -> Finding:
    if engine.computes():
        return Finding("engine", True, "computes a throw whose end is known")
    return Finding(
        "engine",
        False,
        "a throw whose end is known comes out otherwise",
        "Remove compiled code (NUMBA_CACHE_DIR), run: manage.py warm, and restart.",
    )
