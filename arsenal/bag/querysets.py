"""Questions asked of a bag, in the trade's words."""

from __future__ import annotations

from typing import Self

from django.db.models import Q

from bowlers.models import LONGEST_KEY, Bowler, search_key
from proshop.models import ShopRecordQuerySet


class OwnedBallQuerySet(ShopRecordQuerySet):
    def in_use(self) -> Self:
        return self.filter(retired=False)

    def search(self, words: str) -> Self:
        """Balls of which every word is part of the serial number, the model, the nickname or the
        owner's name, whatever the capitals and accents.

        Models and owners are looked up by themselves: joined to every ball they take twice as
        long.
        """
        from arsenal.catalogue.models import BallSpec

        found = self
        # No more of it than a name can have: a database refuses a question of a thousand words.
        for word in words.replace("\0", "")[:LONGEST_KEY].split():
            key = search_key(word)
            found = found.filter(
                Q(serial__icontains=word)
                | Q(nickname__icontains=word)
                | Q(spec__in=BallSpec.objects.filter(model__search_key__contains=key))
                | Q(bowler__in=Bowler.objects.filter(search_key__contains=key))
            )
        return found

    def with_holes(self) -> Self:
        """Each ball with its customer, model, and holes now and before: three queries however many
        balls, a fourth where any was drilled before."""
        return self.select_related("bowler", "spec__model", "shop").prefetch_related(
            "holes", "earlier__holes"
        )

    def with_drilling(self) -> Self:
        """As `with_holes`, with the readings of hardness and size: two queries more."""
        return self.with_holes().prefetch_related("hardness_readings", "size_readings")
