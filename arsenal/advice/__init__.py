"""Advice: the stored ranking, the gaps page and the next-ball page."""
