"""The form of a ticket."""

from __future__ import annotations

from typing import Any, ClassVar, cast

from django import forms

from arsenal.catalogue.models import Finish
from arsenal.fields import DecimalMeasureField
from arsenal.tickets.models import MOST_MONEY, Job, Ticket
from bowlers.models import Bowler
from proshop.forms import RecordForm, TokenForm

WITH_A_PLAN = (Job.DRILL, Job.REDRILL)


def _price(label: str) -> DecimalMeasureField:
    return DecimalMeasureField(
        low=0, high=float(MOST_MONEY), label=label, required=False, initial=0
    )


class TicketForm(RecordForm):
    """A job: what, on which ball, promised when, at what price."""

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
        job = cast(forms.ChoiceField, self.fields["job"])
        if self.instance.plan_id:
            del self.fields["job"], self.fields["ball"], self.fields["finish"]
        else:
            job.choices = [(j.value, j.label) for j in Job if j not in WITH_A_PLAN]
            ball = cast("forms.ModelChoiceField[Any]", self.fields["ball"])
            ball.queryset = bowler.bag.in_use().select_related("spec__model")
            ball.empty_label = "Not in the bag"
            finish = cast(forms.ChoiceField, self.fields["finish"])
            finish.choices = [("", "As it is"), *Finish.choices]
            finish.required = False

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        for name in ("price_ball", "price_work", "price_inserts", "price_slug", "deposit"):
            if name in cleaned and cleaned[name] is None:
                cleaned[name] = 0
        return cleaned


class AskedForm(TokenForm):
    """What a customer said when asked."""

    words = forms.CharField(label="What they said", max_length=300, required=False)
