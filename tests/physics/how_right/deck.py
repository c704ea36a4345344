"""Pins: the simulated deck's bodies, and the table against what is published."""

from __future__ import annotations

import math
import time
from dataclasses import replace

import numpy as np

from physics import pins, score
from physics.pindeck import report
from tests.physics import test_score as games
from tests.physics.how_right.pictures import Series, plot
from tests.physics.how_right.rungs import (
    DERIVED,
    MEMORY,
    PUBLISHED,
    SECOND_HAND,
    Finding,
    Found,
    Picture,
    between,
    within,
)

BODY = "US governing body's engineers"


def contacts() -> Found:
    from physics.pindeck import deck, pairs, pin
    from physics.units import IN_TO_M

    these = deck.Contacts()
    speeds = (4.0, 5.0, 7.5, 9.0, 12.0)
    ball = [pairs.ball_on_pin(these, v) for v in speeds]
    pair = [pairs.pin_on_pin(these, v) for v in speeds]
    slick = replace(these, ball_pin_friction=1e-4)
    apart = [
        pairs.head_pin_direction(slick, b, a) - pairs.disc_direction(b, a)
        for b, a in ((17.5, 0.0), (17.5, 4.0), (18.0, 6.0))
    ]
    tip = math.degrees(math.atan(pin.BASE_RADIUS_IN * IN_TO_M / pin.shape().mass_centre_m))
    lean = next(d for d in np.arange(8.0, 13.0, 0.1) if pairs.tips_from(these, float(d)))
    centre = pin.shape().mass_centre_m / IN_TO_M
    tested = "tested range, low confidence"
    return Found(
        [
            between("restitution of ball and pin, least of 4 to 12 m/s", tested, MEMORY,
                    min(ball), 0.65, 0.78, ""),
            between("most of 4 to 12 m/s", tested, MEMORY, max(ball), 0.65, 0.78, ""),
            between("restitution of two pins, least of 4 to 12 m/s", tested, MEMORY,
                    min(pair), 0.65, 0.78, ""),
            between("most of 4 to 12 m/s", tested, MEMORY, max(pair), 0.65, 0.78, ""),
            within("direction of the head pin without friction, less the disc model's",
                   "line of centres at contact", DERIVED, max(map(abs, apart)), 1.0, "°"),
            within("lean at which a pin falls, less base over height of its centre of gravity",
                   "statics", DERIVED, float(lean) - tip, 0.4, "°"),
            between("centre of gravity of the pin", "pin specification of the governing bodies",
                    SECOND_HAND, centre, 5.625, 5.9375, "in"),
        ]
    )  # fmt: skip


def pin_table() -> Found:
    table = pins.table()
    said = report.report(table)
    best = said["optimum_by_angle"]
    read_ms = 1000 * min(_reading_s() for _ in range(5))
    findings = [
        between(
            f"best entry board at {angle}°, aim scattered by 0.6 board", BODY, PUBLISHED,
            best[f"{angle}.0"]["board"], 17.0, 18.0, "",
        )
        for angle in (4, 5, 6)
    ]  # fmt: skip
    steep = {angle: f"{100 * best[angle]['strikes']:.0f} %" for angle in ("6.0", "8.0")}
    findings += [
        Finding(
            "its distance from the middle of the published boards", BODY, PUBLISHED, "reported",
            f"{said['optimum_misfit_boards']:+.2f} board", None,
        ),
        _in_order(
            "strikes rise with the angle, 1 to 6°",
            [best[f"{a}.0"]["strikes"] for a in (1, 2, 4, 6)],
        ),
        Finding(
            "and are most at 4 to 6°, not steeper",
            BODY, PUBLISHED, "fewer at 8° than at 6°",
            f"{steep['6.0']} at 6°, {steep['8.0']} at 8°",
            best["8.0"]["strikes"] < best["6.0"]["strikes"],
        ),
    ]  # fmt: skip
    for name, board, leave, source in (
        ("a light hit leaves the 10", 16.5, "10", "governing body's camera study"),
        ("a lighter one the 5-7", 15.5, "5-7", "trade articles"),
        ("a high one the 9", 18.75, "9", "trade articles"),
        ("a high one the 4", 18.75, "4", "trade articles"),
        ("the nose the 6-10", 20.0, "6-10", "trade articles"),
    ):
        likeliest = [words.split()[0] for words in report.likeliest(table, board, 5.0)]
        findings.append(
            Finding(
                f"{name} (board {board:g} at 5°)", source, SECOND_HAND,
                "among the four likeliest", ", ".join(likeliest), leave in likeliest,
            )
        )  # fmt: skip
    kilobytes = pins.FILE.stat().st_size / 1000
    findings.append(
        Finding("size of the table, and processor time to read it here", "own bound", "own bound",
                "2000 kB, 50 ms", f"{kilobytes:.0f} kB, {read_ms:.0f} ms",
                kilobytes < 2000 and read_ms < 50)
    )  # fmt: skip
    curves = [
        Series(
            f"{angle:g}°",
            [
                (float(b), float(pins.chance(float(b), angle, 0.0, pins.surface(table.strike))))
                for b in np.arange(13.0, 21.01, 0.25)
            ],
        )
        for angle in (2.0, 4.0, 6.0)
    ]
    svg = plot("entry board at the head pin", "chance of a strike", curves, band=(17.0, 18.0))
    caption = "Strikes by entry board and angle; shaded: the published best boards."
    words = [
        "Percentages of this table are estimates. [Its own page](../../physics/tables/README.md) "
        "says how it was made and what not to believe."
    ]
    return Found(findings, [Picture("strikes", caption, svg)], words)


def _reading_s() -> float:
    """Processor time of reading the table, which other work on the machine leaves alone."""
    began = time.process_time()
    with np.load(pins.FILE) as packed:
        for name in packed.files:
            packed[name]
    return time.process_time() - began


def _in_order(what: str, values: list[float]) -> Finding:
    said = ", ".join(f"{100 * v:.0f} %" for v in values)
    return Finding(what, BODY, PUBLISHED, "rising", said, values == sorted(values))


def expected_score() -> Found:
    """The closed form against whole games, and both ends."""
    worst = 0.0
    for strike, spare in games.CASES:
        worst = max(worst, abs(games.apart(strike, spare)))
    one, none, ten = np.array(1.0), np.array(0.0), np.array(10.0)
    ends = float(score.game(one, none, ten, ten)), float(score.game(none, none, none, none))
    rules = "scoring rules of the governing bodies"
    return Found(
        [
            within(
                "expected score against 20,000 games played by the rules, five bowlers",
                rules, PUBLISHED, worst, 4.0, "standard errors",
            ),
            Finding("twelve strikes, and nothing at all", rules, PUBLISHED, "300 and 0",
                    f"{ends[0]:g} and {ends[1]:g}", ends == (300.0, 0.0)),
        ]
    )  # fmt: skip
