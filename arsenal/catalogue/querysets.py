"""Questions asked of the catalogue and the shelf, in the trade's words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Self

from django.db import models
from django.db.models import Count, Max, Min, Prefetch, Q

from bowlers.models import search_key
from proshop.models import ShopRecordQuerySet

if TYPE_CHECKING:
    from bowlers.models import Bowler
    from proshop.models import Shop


class BallModelQuerySet(ShopRecordQuerySet):
    def search(self, words: str) -> Self:
        """Models whose name or cover holds every word, whatever the capitals and accents."""
        found = self
        for word in search_key(words).split():
            found = found.filter(Q(search_key__contains=word) | Q(cover__contains=word))
        return found

    def with_specs(self) -> Self:
        """Specs by falling weight and the count of balls on the shelf, in two queries."""
        from arsenal.catalogue.models import BallSpec

        # Grouping drops the order of the model, so it is asked for again.
        return (
            self.prefetch_related(
                Prefetch("specs", queryset=BallSpec.objects.order_by("-weight_lb"))
            )
            .annotate(
                on_shelf=Count(
                    "specs__stock", filter=Q(specs__stock__state="shelf"), distinct=True
                ),
                lightest_lb=Min("specs__weight_lb"),
                heaviest_lb=Max("specs__weight_lb"),
            )
            .order_by("search_key", "pk")
        )


class BallSpecQuerySet(models.QuerySet[Any]):
    def for_shop(self, shop: Shop) -> Self:
        return self.filter(model__shop=shop)

    def with_model(self) -> Self:
        return self.select_related("model")


class StockBallQuerySet(ShopRecordQuerySet):
    def on_shelf(self) -> Self:
        return self.filter(state="shelf")

    def kept_for(self, bowler: Bowler) -> Self:
        """On the shelf, or promised to this customer."""
        return self.filter(Q(state="shelf") | Q(state="promised", promised_to=bowler))

    def within_reach_of(self, bowler: Bowler) -> Self:
        """The same, and those promised without saying to whom: who asks for one knows."""
        unnamed = Q(state="promised", promised_to=None)
        return self.filter(Q(state="shelf") | Q(state="promised", promised_to=bowler) | unnamed)

    def with_model(self) -> Self:
        return self.select_related("spec__model")

    def search(self, words: str) -> Self:
        found = self
        for word in search_key(words).split():
            found = found.filter(
                Q(spec__model__search_key__contains=word) | Q(serial__icontains=word)
            )
        return found
