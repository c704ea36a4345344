"""Where compiled kernels are kept: a folder of its own for each state of the sources.

numba tells by a kernel's own file whether what it kept is still good; the constants and kernels
that another module lends it, it doesn't look at. So the folder is named after all sources: after
an update nothing is found that was compiled from what there was before.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import shutil
from functools import cache
from pathlib import Path

HOME = Path(__file__).parent
_NAME = re.compile(r"kernels-[0-9a-f]{16}")
# As numba calls what is kept of a package where the folder isn't named after its sources.
_UNNAMED = re.compile(r"physics_[0-9a-f]{40}")


def hash_of_sources(*suffixes: str, home: Path = HOME) -> bytes:
    """One hash over names and contents of all files of the package that end so (``.py``)."""
    digest = hashlib.sha256()
    for path in sorted(home.rglob("*")):
        if path.suffix in suffixes:
            content = path.read_bytes()
            digest.update(f"{path.relative_to(home)}\0{len(content)}\0".encode())
            digest.update(content)
    return digest.digest()


@cache
def name() -> str:
    """What the folder of these sources is called."""
    return f"kernels-{hash_of_sources('.py').hex()[:16]}"


def folder() -> Path:
    """The folder of these sources, within the place that NUMBA_CACHE_DIR names.

    The variable may hold the folder of the process that started this one. Without it: beside
    Python's own compiled files.
    """
    place = Path(os.environ.get("NUMBA_CACHE_DIR") or HOME / "__pycache__")
    return (place.parent if _NAME.fullmatch(place.name) else place) / name()


def keep_there() -> None:
    """Let numba keep kernels in that folder. Before numba is imported, which asks once."""
    os.environ["NUMBA_CACHE_DIR"] = str(folder())


def clear_away() -> None:
    """Remove what other sources left in the place; the newest of it stays.

    The site from before an update may still be running. Nothing breaks if it goes: numba compiles
    what it misses.
    """
    ours = folder()
    with contextlib.suppress(OSError):
        # When it was last used.
        os.utime(ours)
    found = list(ours.parent.iterdir()) if ours.parent.is_dir() else []
    others = [path for path in found if _NAME.fullmatch(path.name) and path.name != ours.name]
    others.sort(key=_used_at)
    for path in [*others[:-1], *(path for path in found if _UNNAMED.fullmatch(path.name))]:
        shutil.rmtree(path, ignore_errors=True)


def _used_at(path: Path) -> float:
    """Seconds of the epoch; the beginning of time for a folder that somebody else removed."""
    try:
        return path.stat().st_mtime
    except OSError:
        return 0.0
