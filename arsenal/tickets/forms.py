"""The form of a ticket."""

from __future__ import annotations

from typing import Any, ClassVar, cast

from django import forms

from arsenal.catalogue.models import Finish
from arsenal.fields import MoneyField
from arsenal.prices.models import MOST_MONEY, PriceList
from arsenal.tickets.models import Job, Ticket
from bowlers.models import Bowler
from proshop.forms import RecordForm, TokenForm

WITH_A_PLAN = (Job.DRILL, Job.REDRILL)


def _price(label: str) -> MoneyField:
    return MoneyField(low=0, high=float(MOST_MONEY), label=label, required=False, initial=0)


class TicketForm(RecordForm):
    """A job: what, on which ball, promised when, at what price.

    Work left without a price gets that of the price list.
    """

    price_ball = _price("Ball")
    price_work = _price("Drilling or work")
    price_inserts = _price("Inserts")
    price_slug = _price("Slug")
    deposit = _price("Deposit taken")

    class Meta:
        model = Ticket
        fields = (
            "job",
            "ball",
            "finish",
            "words",
            "promised_at",
            "price_ball",
            "price_work",
            "price_inserts",
            "price_slug",
            "deposit",
            "new_thumb",
        )
        labels: ClassVar[dict[str, str]] = {
            "job": "What is to be done",
            "ball": "Ball",
            "finish": "Finish it gets",
            "words": "In a few words",
            "promised_at": "Promised for",
            "new_thumb": "The thumb hole is new: ask after two weeks",
        }
        widgets: ClassVar[dict[str, Any]] = {
            "job": forms.RadioSelect,
            "promised_at": forms.DateTimeInput(
                attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"
            ),
        }

    def __init__(self, *args: Any, bowler: Bowler, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.listed = PriceList.of(bowler.shop)
        for name, part in (("price_inserts", "insert"), ("price_slug", "slug")):
            each = f"{self.listed.price(part):.2f}"
            self.fields[name].help_text = f"Price list: {each} each."
        job = cast(forms.ChoiceField, self.fields["job"])
        if self.instance.plan_id:
            del self.fields["job"], self.fields["ball"], self.fields["finish"]
        else:
            self.fields["price_work"].help_text = "Left empty: as the price list says."
            job.choices = [
                (j.value, f"{j.label}, {self.listed.price(j):.2f}")
                for j in Job
                if j not in WITH_A_PLAN
            ]
            ball = cast("forms.ModelChoiceField[Any]", self.fields["ball"])
            ball.queryset = bowler.bag.in_use().select_related("spec__model")
            ball.empty_label = "Not in the bag"
            finish = cast(forms.ChoiceField, self.fields["finish"])
            finish.choices = [("", "As it is"), *Finish.choices]
            finish.required = False

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        job = cleaned.get("job", self.instance.job)
        if "price_work" in cleaned and cleaned["price_work"] is None and job:
            cleaned["price_work"] = self.listed.price(job)
        for name in ("price_ball", "price_work", "price_inserts", "price_slug", "deposit"):
            if name in cleaned and cleaned[name] is None:
                cleaned[name] = 0
        return cleaned

    @property
    def prices_by_job(self) -> dict[str, str]:
        """What the box for the work says for each job, as long as nobody typed another price."""
        return {
            job.value: str(self.fields["price_work"].prepare_value(self.listed.price(job)))
            for job in Job
        }


class AskedForm(TokenForm):
    """What a customer said when asked."""

    words = forms.CharField(label="What they said", max_length=300, required=False)
