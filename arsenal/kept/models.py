"""One piece of solved work."""

from __future__ import annotations

from django.db import models


class Piece(models.Model):
    """What was solved for one release on one condition, at one stage of a ranking.

    ``key`` is a hash of everything the numbers depend on but the ball; ``cells`` holds them ball by
    ball, each under a hash of its own (``arsenal.engine.solved``), or those of a whole menu under a
    key of everything. Pieces can be thrown away at any time: they are computed again.
    """

    key = models.CharField(max_length=64, primary_key=True)
    cells = models.BinaryField()
    used_on = models.DateField(db_index=True)

    def __str__(self) -> str:
        return self.key
