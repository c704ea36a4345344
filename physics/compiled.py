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
import tempfile
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


def place() -> Path:
    """Where folders are kept if nobody says: the first place that can be written, as a site may
    run from a checkout it can't write to."""
    cached = Path(os.environ.get("XDG_CACHE_HOME") or Path("~/.cache").expanduser())
    temporary = Path(tempfile.gettempdir()) / f"hookwright-numba-{os.getuid()}"
    places = [HOME.parent / "var" / "numba", cached / "hookwright" / "numba", temporary]
    for one in places:
        try:
            one.mkdir(parents=True, exist_ok=True, mode=0o700)
        except OSError:
            continue
        # Compiled code is run: never out of a directory that somebody else has made.
        if os.access(one, os.W_OK) and one.stat().st_uid in {os.getuid(), 0}:
            return one
    return places[0]


def folder() -> Path:
    """The folder of these sources, within the place that NUMBA_CACHE_DIR names.

    The variable may hold the folder of the process that started this one.
    """
    given = os.environ.get("NUMBA_CACHE_DIR")
    kept = Path(given) if given else place()
    return (kept.parent if _NAME.fullmatch(kept.name) else kept) / name()


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
