"""Forms of houses, conditions and the conditions a customer meets."""

from __future__ import annotations

from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.utils.datastructures import MultiValueDict

from arsenal.fields import MeasureField, WholeField
from arsenal.lanes.leagues import LEAGUES, usual_house
from arsenal.lanes.models import (
    FRICTION_FACTOR,
    GAMES_ON_OIL,
    LENGTH_FT,
    RAMP_BOARD,
    RATIO,
    VOLUME_ML,
    BowlerCondition,
    Condition,
    House,
)
from arsenal.lanes.oil_csv import (
    read_oil_table,
    write_oil_table,
)
from arsenal.lanes.picker import QUESTIONS, answers_near, name_of, numbers_of_answers
from bowlers.models import Bowler
from proshop.files.faults import Fault, Faulty
from proshop.files.text import text_of
from proshop.forms import RecordForm, TokenForm
from proshop.models import Shop

MOST_TEXT = 200_000
PICKER = ("length_ft", "volume_ml", "inside_to_outside_ratio", "shape")
# Which way a condition's oil is told.
ANSWERS, NUMBERS, TABLE = "answers", "numbers", "table"


class HouseForm(RecordForm):
    friction_factor = MeasureField(
        low=FRICTION_FACTOR[0],
        high=FRICTION_FACTOR[1],
        label="Friction compared with an ordinary house",
        help_text="1 unless you know the lanes: above 1 grips sooner, below 1 later.",
    )

    class Meta:
        model = House
        fields = ("name", "lane_surface", "friction_factor")

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"]
        twins = House.objects.for_shop(self.instance.shop).filter(name=name)
        if twins.exclude(pk=self.instance.pk).exists():
            raise ValidationError(f"“{name}” is listed already: open that house instead.")
        return name


class ConditionForm(RecordForm):
    """A condition by answers, numbers or an oil table; what is said in the others is kept."""

    source = forms.ChoiceField(
        label="How do you know this oil?",
        choices=[
            (ANSWERS, "By what is seen of it"),
            (NUMBERS, "By its numbers"),
            (TABLE, "By an oil table"),
        ],
        widget=forms.RadioSelect,
        initial=ANSWERS,
    )
    length_ft = MeasureField(
        low=LENGTH_FT[0], high=LENGTH_FT[1], label="Length", unit="ft", required=False
    )
    volume_ml = MeasureField(
        low=VOLUME_ML[0],
        high=VOLUME_ML[1],
        label="Volume",
        unit="mL",
        required=False,
        help_text="About 18 light, 23 medium, 28 heavy (common practice, no source).",
    )
    inside_to_outside_ratio = MeasureField(
        low=RATIO[0],
        high=RATIO[1],
        label="Inside to outside ratio",
        required=False,
        help_text="Boards 18 left to 18 right over boards 3 to 7; 1 is flat.",
    )
    ramp_board = MeasureField(
        low=RAMP_BOARD[0],
        high=RAMP_BOARD[1],
        label="Falls off about board",
        required=False,
        help_text="From the nearer gutter; empty: as usual, about 9. A flat pattern has none.",
    )
    oil_text = forms.CharField(
        label="Oil table",
        required=False,
        strip=True,
        max_length=MOST_TEXT,
        widget=forms.Textarea({"rows": 8, "spellcheck": "false", "wrap": "off"}),
        help_text=(
            "One line for each distance: feet from the foul line, then units of oil on 39 boards "
            "counted from the left gutter, separated by commas, semicolons or tabs."
        ),
    )

    oil_file = forms.FileField(
        label="or the same as a CSV file",
        required=False,
        allow_empty_file=True,
        widget=forms.FileInput({"accept": ".csv,.txt,text/csv,text/plain"}),
        help_text="Replaces what is in the box. Each condition’s page gives its table as a file.",
    )

    class Meta:
        model = Condition
        fields = ("name", *PICKER, "ramp_board")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["name"].required = False
        self.fields["name"].help_text = "Empty: called by its shape, length and amount."
        there = self.instance.pk is not None
        near = answers_near(self._stored()) if there else {q.name: q.usual for q in QUESTIONS}
        for question in QUESTIONS:
            self.fields[question.name] = forms.ChoiceField(
                label=question.label,
                choices=question.choices,
                initial=near[question.name],
                required=False,
                widget=forms.RadioSelect,
                help_text=question.help_text,
                error_messages={"invalid_choice": f"{question.label}: pick one of the answers."},
            )
        if there:
            self.initial["source"] = NUMBERS
        self.fields["shape"].required = False
        if self.instance.oil_table:
            self.initial.setdefault("oil_text", write_oil_table(self.instance.oil_table))
            self.initial["source"] = TABLE

    def _stored(self) -> dict[str, Any]:
        return {name: getattr(self.instance, name) for name in (*PICKER, "ramp_board")}

    @property
    def questions(self) -> list[forms.BoundField]:
        return [self[question.name] for question in QUESTIONS]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        source = cleaned.get("source")
        if source == TABLE:
            self._forget_faults(*PICKER, "ramp_board")
            cleaned["ramp_board"] = None
            self._read_table(cleaned)
        else:
            self.instance.oil_table = None
            if source == ANSWERS:
                self._take_answers(cleaned)
            for name in PICKER:
                if cleaned.get(name) in (None, "") and name not in self.errors:
                    self.add_error(name, f"{self._label(name)} is missing: it is part of the oil.")
        self._name(cleaned)
        return cleaned

    def _take_answers(self, cleaned: dict[str, Any]) -> None:
        """Answers into numbers; one not given stands at its usual one."""
        self._forget_faults(*PICKER, "ramp_board")
        if not any(question.name in self.errors for question in QUESTIONS):
            said = {q.name: cleaned.get(q.name) or q.usual for q in QUESTIONS}
            cleaned |= numbers_of_answers(said)

    def _name(self, cleaned: dict[str, Any]) -> None:
        """The name, made of what the oil is where none was typed, and no other's in the house."""
        name = cleaned.get("name")
        if not name and "name" not in self.errors:
            if cleaned.get("source") == TABLE or any(not cleaned.get(n) for n in PICKER):
                if not self.errors:
                    self.add_error("name", "Name is missing: say what this oil is called.")
                return
            name = cleaned["name"] = name_of(cleaned)
        twins = Condition.objects.filter(house=self.instance.house, name=name)
        if twins.exclude(pk=self.instance.pk).exists():
            self.add_error(
                "name",
                f"{self.instance.house} has a condition “{name}” already: edit that one, or give "
                "this one another name.",
            )

    def _label(self, name: str) -> str:
        field = self.fields[name]
        return str(getattr(field, "name", None) or field.label)

    def _forget_faults(self, *names: str) -> None:
        for name in names:
            self.errors.pop(name, None)

    def _read_table(self, cleaned: dict[str, Any]) -> None:
        text, sent = cleaned.get("oil_text", ""), cleaned.get("oil_file")
        try:
            if sent is not None:
                text = self._text_of(sent)
            self.instance.oil_table = read_oil_table(text)
        except Faulty as faulty:
            for fault in faulty.faults:
                self.add_error("oil_file" if sent is not None else "oil_text", fault.words)

    def _text_of(self, sent: UploadedFile) -> str:
        """What the file says, put into the box too, where it can be corrected."""
        if (sent.size or 0) > MOST_TEXT:
            told = f"is larger than {MOST_TEXT // 1000} kB: send the oil table alone."
            raise Faulty([Fault(0, "", "", told)])
        text = text_of(sent.read())
        typed = MultiValueDict(cast("MultiValueDict[str, Any]", self.data))
        typed[self.add_prefix("oil_text")] = text
        self.data = typed
        return text


class GamesForm(forms.Form):
    """Which state of a condition to look at."""

    games = WholeField(
        low=GAMES_ON_OIL[0], high=GAMES_ON_OIL[1], label="Games on the oil", required=False
    )


def times_field() -> WholeField:
    return WholeField(low=1, high=200, label="Times a season")


def games_field() -> WholeField:
    low, high = GAMES_ON_OIL
    return WholeField(low=low, high=high, label="Games on the oil", initial=low)


class MetForm(RecordForm):
    """How often a customer meets a condition, and how far it is worn by then."""

    def refuse_twice(self, condition: Condition | None, games: int | None) -> None:
        """One row for each state of a condition: a second one would be weighed twice."""
        if condition is None or games is None:
            return
        rows = BowlerCondition.objects.filter(
            bowler=self.instance.bowler, condition=condition, games_on_oil=games
        )
        if rows.exclude(pk=self.instance.pk).exists():
            self.add_error(
                "games_on_oil",
                f"{condition} is on the list with {games} games on it already: change how often "
                "they meet it there, or give other games.",
            )


class MeetForm(MetForm):
    """Adds one condition to those a customer meets."""

    times_a_season = times_field()
    games_on_oil = games_field()

    class Meta:
        model = BowlerCondition
        fields = ("condition", "times_a_season", "games_on_oil")

    def __init__(self, *args: Any, bowler: Bowler, shop: Shop, **kwargs: Any) -> None:
        super().__init__(*args, shop=shop, **kwargs)
        self.instance.bowler = bowler
        field = cast("forms.ModelChoiceField[Condition]", self.fields["condition"])
        field.queryset = Condition.objects.for_shop(shop).with_house()
        field.empty_label = "Pick a condition"
        field.error_messages["invalid_choice"] = (
            "Pick a condition from the list; this one may have been removed meanwhile."
        )
        self.fields["games_on_oil"].help_text = (
            "Bowled on that lane since it was oiled, each person’s game counting one: 0 is fresh, "
            "three games of a league of five a lane make 15, from 30 on it is burnt."
        )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        self.refuse_twice(cleaned.get("condition"), cleaned.get("games_on_oil"))
        return cleaned


class LeagueForm(TokenForm):
    """A kind of league and the house it bowls in."""

    league = forms.ChoiceField(
        choices=[(league.name, league.label) for league in LEAGUES],
        error_messages={
            "required": "Tap a kind of league.",
            "invalid_choice": "Tap one of the kinds of league listed.",
        },
    )

    def __init__(self, *args: Any, bowler: Bowler, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        houses = House.objects.for_shop(bowler.shop).filter(conditions__isnull=False).distinct()
        self.fields["house"] = forms.ModelChoiceField(
            houses,
            label="House",
            empty_label=None,
            initial=usual_house(bowler),
            error_messages={
                "required": "Pick a house.",
                "invalid_choice": "Pick a house from the list; this one may have been removed.",
            },
        )

    @property
    def kinds(self) -> list[tuple[str, str]]:
        return [(league.name, league.label) for league in LEAGUES]


class TimesForm(MetForm):
    """Changes how often a customer meets a condition, and in what state."""

    times_a_season = times_field()
    games_on_oil = games_field()

    class Meta:
        model = BowlerCondition
        fields = ("times_a_season", "games_on_oil")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        self.refuse_twice(self.instance.condition, cleaned.get("games_on_oil"))
        return cleaned
