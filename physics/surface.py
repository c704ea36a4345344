"""Covers and finishes as they are fresh: the priors of the friction closure, all estimates.

What play makes of them is in :mod:`physics.care`.
"""

from dataclasses import dataclass

from physics.units import MICROINCH_TO_UM


@dataclass(frozen=True)
class Cover:
    """What a cover material brings to the contact, before its finish.

    ``mu_dry`` and ``mu_oil`` are Coulomb coefficients on a dry and on a thickly oiled lane,
    ``absorption_per_s`` the share of the ball's carried film taken into the cover per second.
    """

    label: str
    mu_dry: float
    mu_oil: float
    absorption_per_s: float


@dataclass(frozen=True)
class Finish:
    """A finish by its last pad, with the roughness it leaves.

    ``roughness_um`` is Ra in micrometres.
    """

    label: str
    roughness_um: float


# Order (polyester < urethane < pearl < hybrid < solid on the dry; solid > hybrid > pearl in oil) is
# common practice; the values are estimates about the 0.20 dry and 0.04 oiled of the literature
# (Frohlich 2004, from memory). Under a thick film friction is the oil's more than the cover's, so
# covers differ little there; polyester is set so that, as the trade has it and a study of these
# equations found, it is seldom the first ball of a bowler who hooks.
COVERS: dict[str, Cover] = {
    "solid": Cover("solid reactive", 0.225, 0.027, 0.45),
    "hybrid": Cover("hybrid reactive", 0.215, 0.026, 0.38),
    "pearl": Cover("pearl reactive", 0.205, 0.025, 0.30),
    "urethane": Cover("urethane", 0.170, 0.027, 0.08),
    "polyester": Cover("polyester", 0.070, 0.024, 0.02),
}

# Mid-values of the approximate Ra bands of the trade reference (from memory, low confidence):
# only their order is relied on in tests.
_ROUGHNESS_MICROINCH = {
    "360": 47.0,
    "500": 36.0,
    "1000": 24.0,
    "1500": 19.0,
    "2000": 15.0,
    "3000": 11.0,
    "4000": 8.0,
    "5000": 6.5,
    "polished": 3.5,
}
FINISHES: dict[str, Finish] = {
    key: Finish("polished" if key == "polished" else f"{key} grit", value * MICROINCH_TO_UM)
    for key, value in _ROUGHNESS_MICROINCH.items()
}

# Scale of the film ratio: film thickness over this many roughnesses is one (an estimate).
FILM_SCALE = 1.2
