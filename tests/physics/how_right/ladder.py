"""The rungs from the ground up, each with the test files that hold it."""

from __future__ import annotations

from tests.physics.how_right import (
    answers,
    deck,
    deliveries,
    exact,
    lanes,
    on_the_ball,
    solvers,
)
from tests.physics.how_right.rungs import Rung

LADDER = (
    Rung(
        "Units",
        "Every conversion there and back, and against a value defined elsewhere.",
        ("units",),
        exact.conversions,
    ),
    Rung(
        "What mechanics keeps",
        "Whatever the friction does, some quantities of a ball on a level lane never change.",
        ("invariants",),
        exact.invariants,
    ),
    Rung(
        "Closed forms",
        "A ball with one moment of inertia slides on a parabola and then rolls: formulas exist.",
        ("closed_forms", "motion"),
        exact.closed_forms,
    ),
    Rung(
        "A published benchmark",
        "The bowling-ball rows of an open multibody library.",
        ("benchmark_rows",),
        exact.published_rows,
    ),
    Rung(
        "The free body",
        "Without friction the axis wanders over the ball by Jacobi's elliptic functions: flare.",
        ("free_body",),
        exact.free_body,
    ),
    Rung(
        "Rolling",
        "A ball of unequal moments that rolls is Chaplygin's, with integrals of its own.",
        ("rolling",),
        exact.chaplygin,
    ),
    Rung(
        "Mass off the centre",
        "Drilling leaves the centre of mass off the ball's centre; the load then swings.",
        ("unbalanced", "offset"),
        exact.unbalanced,
    ),
    Rung(
        "Other people's solvers",
        "The reference solver against SciPy and a rigid-body engine on the same shots.",
        ("agreement", "independent_integrator"),
        solvers.others,
        quick=False,
    ),
    Rung(
        "The fast solvers",
        "Rankings screen with a solver averaged over turns and confirm with one of fixed steps.",
        ("averaged", "confirming"),
        solvers.fast,
    ),
    Rung(
        "From a bowler's numbers to a release",
        "Rotation, tilt, rev rate and PAP as the direction and size of the spin, for either hand.",
        ("release",),
    ),
    Rung(
        "Layouts, tracks and grips",
        "Where marks, rings and holes lie on the ball.",
        ("layout", "track", "grip", "plate"),
        on_the_ball.geometry,
    ),
    Rung(
        "The drilled ball",
        "Mass, RGs, differential and statics after the holes, and holes that meet inside.",
        ("drill", "cavity"),
        on_the_ball.bodies,
    ),
    Rung(
        "Limits of the rule sets",
        "Balls at, just under and just over each limit; limits from memory are marked so.",
        ("rules",),
    ),
    Rung(
        "Instruments",
        "Check values of each, and whether their stated errors are what chance makes of them.",
        ("readings", "ring", "release_speed", "measure", "fitting", "one_delivery"),
        on_the_ball.instruments,
    ),
    Rung(
        "Oil, wear and care",
        "Tables of oil by the trade's definitions, and what play does to them and to a cover.",
        ("lane", "wear", "care"),
        lanes.oil_and_wear,
    ),
    Rung(
        "Directions of the trade",
        "What a technician expects to happen: signs and orders, never sizes.",
        ("directions",),
        lanes.trade,
    ),
    Rung(
        "Published deliveries",
        "Releases that were published, thrown by the model, against ranges that were published.",
        ("bands",),
        deliveries.published_bands,
    ),
    Rung(
        "A throwing robot",
        "Nine published shots of unknown ball and oil, three numbers fitted to them.",
        ("robot",),
        deliveries.throwing_robot,
    ),
    Rung(
        "The simulated pins",
        "Pins and contacts behind the table, in a general-purpose rigid-body engine.",
        ("pindeck",),
        deck.contacts,
        quick=False,
    ),
    Rung(
        "What pins do",
        "The table of strikes, leaves and spares against what is published.",
        ("pins", "leaves"),
        deck.pin_table,
    ),
    Rung(
        "Score",
        "Strike and spare chances as pins a game.",
        ("score",),
        deck.expected_score,
        quick=False,
    ),
    Rung(
        "Lines, bags and gaps",
        "The best line for each ball, what a bag is worth, and the window of shapes that score.",
        ("rank", "menu", "aim", "window"),
        answers.best_lines,
        quick=False,
    ),
    Rung(
        "Certainty",
        "How sure an answer is under all that isn't known, and which measurement would settle it.",
        ("doubt", "worlds"),
        answers.certainty,
    ),
    Rung(
        "What reports teach",
        "Seasons invented with a known truth: do the intervals hold it, and do errors fall?",
        ("learn", "seen", "likely"),
        answers.seasons,
    ),
    Rung(
        "Surface against layout",
        "Published work ranks surface over layout; so must the demo's menu, ring oil or none.",
        (),
        answers.surface_and_layout,
    ),
    Rung(
        "Doors and pages",
        "Bad input is refused by name; both hands meet one lane; this page names every check.",
        ("doors", "warming", "compiled", "how_right"),
    ),
)
