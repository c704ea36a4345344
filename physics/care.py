"""What play does to a cover and its finish, and what care gives back.

Three things happen at their own pace: the finish is worn towards that of a ball long played, the
cover takes up oil, and a film of oil and dirt stays on it. Restoring the finish, drawing the oil
out and cleaning undo one each (and clean on the way). Every rate here is an estimate: the trade's
reference has a reaction fading after 7 to 14 games (a governing-body study), a full resurface after
30 to 60 games, or 50 to 75 for a dull and about 75 for a shiny ball (trade articles); only the
directions are asserted in tests.
"""

import math
from dataclasses import dataclass, replace

from physics.surface import COVERS, FINISHES
from physics.units import MICROINCH_TO_UM

# A finish drifts towards one worn in by the lane: a 1000 pad reads like 4000-5000 after use
# (trade articles), and a polish is scratched up to about the same.
WORN_ROUGHNESS_UM = 8.0 * MICROINCH_TO_UM
# Games in which all but 1/e of the way there is gone: inside the 7-14 games of the study.
WEAR_GAMES = 12.0

# Share of its dry friction that a cover full of oil has lost, and the games in which a cover of the
# quickest absorption gets all but 1/e of the way there. Others take longer in proportion.
SOAKED_SHARE = 0.12
SOAK_GAMES = 45.0
QUICKEST_PER_S = max(cover.absorption_per_s for cover in COVERS.values())

# The same of what only lies on the cover and comes off with a cleaner and a cloth: little and soon.
FILM_SHARE = 0.02
FILM_GAMES = 3.0


@dataclass(frozen=True)
class Played:
    """Games since the finish was put on, since oil was drawn out and since the ball was cleaned."""

    finish: float = 0.0
    oil: float = 0.0
    clean: float = 0.0


FRESH = Played()

# What can be done at the counter, and the games each sets back to none. Whoever sands or draws oil
# out cleans the ball first. ``renew`` is both at once.
TREATMENTS: dict[str, tuple[str, ...]] = {
    "clean": ("clean",),
    "extract": ("oil", "clean"),
    "restore": ("finish", "clean"),
    "renew": ("finish", "oil", "clean"),
}


def after(played: Played, treatment: str) -> Played:
    """Games since each was done, once a treatment of :data:`TREATMENTS` is done."""
    return replace(played, **dict.fromkeys(TREATMENTS[treatment], 0.0))


def roughness_um(finish: str, games: float) -> float:
    """Ra in micrometres of a finish after so many games since it was put on."""
    fresh = FINISHES[finish].roughness_um
    return WORN_ROUGHNESS_UM + (fresh - WORN_ROUGHNESS_UM) * math.exp(-games / WEAR_GAMES)


def soaked_share(cover: str, games: float) -> float:
    """Share of dry friction lost to oil taken up in so many games since it was drawn out."""
    pace = COVERS[cover].absorption_per_s / QUICKEST_PER_S
    return SOAKED_SHARE * (1 - math.exp(-games * pace / SOAK_GAMES))


def film_share(games: float) -> float:
    """Share of dry friction lost to what lies on the cover, so many games since it was cleaned."""
    return FILM_SHARE * (1 - math.exp(-games / FILM_GAMES))


def dry_friction(cover: str, played: Played) -> float:
    """Coulomb coefficient of a cover on a dry lane after so many games."""
    lost = soaked_share(cover, played.oil) + film_share(played.clean)
    return COVERS[cover].mu_dry * (1 - lost)
