"""``python -m physics.pindeck build|spares|table|widths|report``: the pin table, made offline.

``build`` throws what is missing at a full rack, ``spares`` at each of the commonest leaves,
``table`` smooths all of it into the file that ships, ``widths`` says how wide a smoothing tells
held-out balls best, ``report`` what it amounts to. Stop and go on at will.
Needs the rigid-body engine that only development installs.
"""

import argparse
import json
import time
from pathlib import Path

from physics import pins
from physics.pindeck import build, report, smooth

FOLDER = Path("var/pins")


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m physics.pindeck", description=__doc__)
    parser.add_argument("command", choices=["build", "spares", "table", "widths", "report"])
    parser.add_argument("--minutes", type=float, default=90.0, help="at most so long")
    parser.add_argument("--folder", type=Path, default=FOLDER, help="where batches are kept")
    asked = parser.parse_args()
    if asked.command == "build":
        throw_racks(asked.folder, asked.minutes)
    elif asked.command == "spares":
        throw_spares(asked.folder, asked.minutes)
    elif asked.command == "table":
        smooth.write_table(asked.folder, pins.FILE)
        print(f"{pins.FILE}: {pins.FILE.stat().st_size} bytes")
    elif asked.command == "widths":
        print(json.dumps(smooth.held_out(), indent=1))
    else:
        print(json.dumps(report.report(), indent=1))


def throw_racks(folder: Path, minutes: float) -> None:
    """The whole lane first, as it is the coarser and quicker, then the pocket."""
    began = time.monotonic()
    for name, grid in (("lane", build.LANE), ("pocket", build.POCKET)):
        print(name, flush=True)
        left = minutes - (time.monotonic() - began) / 60
        build.build(grid, folder / name, minutes=left)


def throw_spares(folder: Path, minutes: float) -> None:
    """Each of the commonest leaves; a leave's mirror image is read off its own."""
    began = time.monotonic()
    for leave in smooth.commonest(smooth.read_all(folder)):
        if leave > pins.mirrored(leave):
            continue
        standing = pins.pins_of(leave)
        print(pins.leave_name(leave), flush=True)
        left = minutes - (time.monotonic() - began) / 60
        build.build(build.spare_grid(standing), folder / f"leave-{leave:04d}", minutes=left)


if __name__ == "__main__":
    main()
