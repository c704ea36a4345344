"""Bowling-ball motion, layouts and ranking: numbers only, useful without the site around them.

Nothing is computed or compiled at import. The front doors are :mod:`physics.cases` (one JSON case
in, one result out) and :mod:`physics.rank` (from a bowler, a bag and conditions to the next ball).
"""

MODEL_VERSION = "2026.11.1"
