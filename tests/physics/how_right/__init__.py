"""The page *How right is it?*: every rung of the validation ladder with what it gives today.

``python -m tests.physics.how_right`` computes every number of ``tests/physics/HOW_RIGHT.md`` and
its pictures anew; what takes many minutes is read from ``kept/``, with its date and model version.
"""
