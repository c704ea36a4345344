"""Balls and lanes: catalogue and shelf, bags, houses and conditions, advice."""
