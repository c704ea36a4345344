"""Bowling-ball motion, layouts and ranking: numbers only, useful without the site around them.

Nothing is computed or compiled at import; where compiled kernels are kept is settled
(:mod:`physics.compiled`). The front doors are :mod:`physics.cases` (one JSON case
in, one result out) and :mod:`physics.worth` with :mod:`physics.rank` (from a bowler, a bag and
conditions to what each change is worth).
"""

from physics import compiled

# Stored with every result: raise it whenever the same inputs would give other numbers.
MODEL_VERSION = "2026.11.11"

compiled.keep_there()


def warm() -> None:
    """Compile the kernels, or load them if they were compiled before; clear old ones away."""
    from physics.warming import warm as compile_kernels

    compile_kernels()
    compiled.clear_away()
