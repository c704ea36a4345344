"""What is asked of customers, fittings and deliveries, in the trade's words."""

from functools import cache
from typing import Any

from django.db.models import Exists, OuterRef, Prefetch, Q, Subquery

from bowlers.finding import hits, words_of
from bowlers.readings import READINGS
from proshop.models import ShopRecordQuerySet


class BowlerQuerySet(ShopRecordQuerySet):
    def search(self, words: str) -> "BowlerQuerySet":
        """Customers of whom every word is part of the name, the end of the phone number, or part
        of what else they are known by, whatever the capitals and accents."""
        found = self
        for word in words_of(words):
            found = found.filter(hits(word))
        return found

    def with_last_fitting(self) -> "BowlerQuerySet":
        """Adds ``last_fitted_on``: the day of the newest finished fitting of the usual release, or
        None. Looked up for the rows shown only."""
        from bowlers.models import Fitting

        finished = Fitting.objects.finished().of_purpose("usual").filter(bowler=OuterRef("pk"))
        newest = finished.order_by("-fitted_on").values("fitted_on")[:1]
        found: BowlerQuerySet = self.annotate(last_fitted_on=Subquery(newest))
        return found


class DeliveryQuerySet(ShopRecordQuerySet):
    def kept(self) -> "DeliveryQuerySet":
        return self.filter(dropped=False)

    def complete(self) -> "DeliveryQuerySet":
        """Kept deliveries with every reading taken."""
        taken = {f"{reading.name}__isnull": False for reading in READINGS}
        return self.kept().filter(**taken)


@cache
def _usable() -> Q:
    """Put together once: every page about a customer asks it, and of each reading."""
    from bowlers.models import Delivery

    complete = Delivery.objects.complete().filter(fitting=OuterRef("pk"))
    return Q(Exists(complete)) | Q(method="no_throw")


class FittingQuerySet(ShopRecordQuerySet):
    def finished(self) -> "FittingQuerySet":
        return self.filter(status="finished")

    def of_purpose(self, purpose: str) -> "FittingQuerySet":
        """Fittings of the usual release, or of the one for spares."""
        return self.filter(purpose=purpose)

    def drafts(self) -> "FittingQuerySet":
        return self.filter(status="draft")

    def newest_first(self) -> "FittingQuerySet":
        return self.order_by("-fitted_on", "-pk")

    def usable(self) -> "FittingQuerySet":
        """Finished fittings with at least one complete delivery, or with whatever was found
        without a throw: what that lacks is taken to be as in such bowlers."""
        return self.finished().filter(_usable())

    def before(self, fitting: Any) -> "FittingQuerySet":
        """Fittings older than this one."""
        day = fitting.fitted_on
        return self.filter(Q(fitted_on__lt=day) | Q(fitted_on=day, pk__lt=fitting.pk))

    def with_deliveries(self) -> "FittingQuerySet":
        from bowlers.models import Delivery

        kept: Any = Delivery.objects.kept()
        return self.prefetch_related(Prefetch("deliveries", queryset=kept, to_attr="kept"))
