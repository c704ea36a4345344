"""What the pin table amounts to, beside what is published and what a study of ten pins found."""

from typing import Any

import numpy as np

from physics import pins

# Published optimum (US governing body's engineers) and the board at which a flush and a light hit
# leave the deck.
OPTIMUM_BOARDS, OPTIMUM_DEG = (17.0, 18.0), (4.0, 6.0)


def optimum(table: pins.PinTable, angle_deg: float, aim_boards: float = 0.6) -> tuple[float, float]:
    """Board at which a bowler who scatters by so many boards strikes most, and how often."""
    column = np.array(
        [pins.chance(float(b), angle_deg, 0.0, pins.surface(table.strike)) for b in pins.BOARDS]
    )
    step = float(pins.BOARDS[1] - pins.BOARDS[0])
    reach = np.arange(-3 * aim_boards, 3 * aim_boards + step / 2, step)
    weight = np.exp(-0.5 * (reach / aim_boards) ** 2)
    smeared = np.convolve(column, weight / weight.sum(), mode="same")
    ours = (pins.BOARDS > 14) & (pins.BOARDS < 20)
    i = int(np.argmax(np.where(ours, smeared, -1)))
    return float(pins.BOARDS[i]), float(smeared[i])


def likeliest(table: pins.PinTable, board: float, angle_deg: float, most: int = 4) -> list[str]:
    """Names of the likeliest leaves of an entry, a right-hander's."""
    shares = [
        float(pins.chance(board, angle_deg, 0.0, pins.surface(one))) for one in table.leave_chance
    ]
    order = np.argsort(shares)[::-1][:most]
    return [f"{pins.leave_name(table.leaves[i])} {shares[i]:.2f}" for i in order]


def report(table: pins.PinTable | None = None) -> dict[str, Any]:
    """The optimum by angle, its misfit, the leaves of light, pocket and high hits, and slopes."""
    table = table or pins.table()
    best = {angle: optimum(table, angle) for angle in (1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0)}
    at = float(np.mean([best[a][0] for a in (4.0, 5.0, 6.0)]))
    return {
        "thrown": table.thrown,
        "optimum_by_angle": {
            str(a): {"board": round(b, 2), "strikes": round(s, 3)} for a, (b, s) in best.items()
        },
        "optimum_misfit_boards": round(at - sum(OPTIMUM_BOARDS) / 2, 2),
        "leaves_at_5_deg": {
            name: likeliest(table, board, 5.0)
            for name, board in (
                ("far light, 15.0", 15.0), ("light, 16.5", 16.5), ("pocket, 17.75", 17.75),
                ("high, 18.75", 18.75), ("nose, 20.0", 20.0),
            )
        },
        "strike_log_odds_by_mph": round(table.speed_slope, 3),
        "strike_log_odds_by_kg": round(table.mass_slope, 3),
        "standard_error_near_pocket": round(
            float(table.strike_error[(pins.BOARDS > 16) & (pins.BOARDS < 19)][:, 6:11].mean()), 3
        ),
    }  # fmt: skip
