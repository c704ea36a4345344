"""A fitting without a throw: what an old ball, a house display, a video and an average tell."""

from dataclasses import dataclass
from typing import Any, ClassVar

from django import forms

from bowlers.engine.measuring import Known, WithoutThrow, unusual, without_throw
from bowlers.engine.plate import Plate, plate
from bowlers.fields import ReadingField
from bowlers.instruments import BOXES, QUANTITY, Setting
from bowlers.models import HIGHEST_AVERAGE, Delivery, Fitting
from bowlers.points import PLACES, PointsForm
from bowlers.readings import BY_NAME, PAP_NAMES, Reading
from physics.errors import InputError
from proshop import conflict
from proshop.forms import HiddenNumber, RecordForm, both_versions, last_change
from proshop.models import ShopRecord

DISPLAY = {s.name: s for s in QUANTITY["speed"].way("display_mph").settings}
FILM = {s.name: s for s in QUANTITY["rev_rate"].way("frames").settings}
VIEWS = ("above_deg", "behind_radii")


def _setting(setting: Setting, label: str, start: float | None = None) -> ReadingField:
    s = setting
    reading = Reading(s.name, label, s.unit, s.low, s.high, s.low, s.high, 3, 0.0, s.usual)
    return ReadingField(reading=reading, initial=s.usual if start is None else start)


@dataclass(frozen=True)
class Section:
    title: str
    help: str
    fields: list[forms.BoundField]


class NoThrowForm(PointsForm):
    """Everything may be left empty: what isn't read is taken to be as in such bowlers.

    It carries the version of what was stored when the page was made; when somebody else has
    saved in between, nothing is kept as it is typed, and saving shows both to choose from.
    """

    own_fields = RecordForm.own_fields
    rows_of: ClassVar[dict[str, str]] = {}

    def __init__(self, *args: Any, fitting: Fitting, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fitting = fitting
        self.instance: Delivery | None = fitting.deliveries.order_by("order").first()
        self.is_conflict = False
        version = self.instance.version if self.instance is not None else None
        self.fields["record_version"] = HiddenNumber(required=False, initial=version)
        self.found: WithoutThrow | None = None
        self.marked: list[tuple[int, float, float]] = []
        for name in (*PAP_NAMES, "ring_width_in", "display_mph", "rev_frames", *VIEWS):
            self.fields[name] = ReadingField(reading=BOXES[name])
        self.fields |= {
            "at_ft": _setting(DISPLAY["at_ft"], "It reads at"),
            "turns": _setting(FILM["turns"], "Turns counted"),
            "frames_per_second": _setting(FILM["frames_per_second"], "Filmed at", 30),
            "average": ReadingField(
                reading=Reading(
                    "average", "Average", "", 0, HIGHEST_AVERAGE, 0, HIGHEST_AVERAGE, 0, 0.0, 165
                )
            ),
        }
        self.fields["rev_frames"].label = "Frames for those turns"
        self.fields["above_deg"].label = "PAP seen from above"
        self.fields["behind_radii"].label = "or from behind, aside"

    def full_clean(self) -> None:
        if self.is_bound and self.instance is not None:
            self.data = conflict.as_chosen(self)
        super().full_clean()

    def values_of(self, delivery: Delivery) -> dict[str, Any]:
        """What is stored, by the names of the fields."""
        left = no_throw_start(self.fitting, delivery)
        return {name: left.get(name, field.initial) for name, field in self.fields.items()}

    def show_both(self, stored: ShopRecord) -> None:
        """Refuse what was sent beside what somebody else has stored, ready to be sent again."""
        self.add_error(None, both_versions(self, stored, self.cleaned_data["record_version"]))
        self.now_at(stored.version)
        self.is_conflict = True

    def say_stale(self, stored: ShopRecord) -> None:
        """Refuse to keep what is typed; it stays so until somebody saves on purpose."""
        who, when = last_change(stored)
        self.add_error(
            None,
            f"{who} changed this fitting {when}, after you opened it: nothing typed since is "
            "saved. Use “Save and go on later” to see both and choose.",
        )

    def now_at(self, version: int) -> None:
        """The version that is sent with the form from here on."""
        self.data = {**self.data.dict(), "record_version": str(version)}  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        self.marked = self.points()
        for needed, given in (("at_ft", "display_mph"), ("turns", "rev_frames")):
            if cleaned.get(given) is not None and cleaned.get(needed) is None:
                self.add_error(needed, f"{self.fields[needed].label} is missing.")
        over, up = (cleaned.get(name) for name in PAP_NAMES)
        if (over is None) != (up is None):
            lacking = PAP_NAMES[0] if over is None else PAP_NAMES[1]
            self.add_error(lacking, f"{BY_NAME[lacking].label} is missing: PAP takes both numbers.")
        if all(cleaned.get(name) is not None for name in VIEWS):
            self.add_error("behind_radii", "Rotation is read once: from above or from behind.")
        if not self.errors:
            self._find()
        return cleaned

    def _find(self) -> None:
        try:
            self.found = without_throw(self.case)
        except InputError as refused:
            self._refuse(refused)
            return
        for known in self.found.numbers:
            reading = BY_NAME[known.name]
            if known.source and not reading.low <= known.value <= reading.high:
                found = f"{reading.label} comes out at {reading.text(known.value)}"
                self.add_error(None, f"{found}. {reading.range_text} Read it again.")

    def _refuse(self, refused: InputError) -> None:
        if "ring_points_in" in refused.field:
            self.refuse_points(refused, self.marked)
            return
        leaf = refused.field.rsplit(".", 1)[-1]
        name = {"frames": "rev_frames", "over_in": PAP_NAMES[0], "up_in": PAP_NAMES[1]}.get(
            leaf, leaf
        )
        if leaf in ("tilt", "pap"):
            name = "ring_width_in" if leaf == "tilt" else PAP_NAMES[0]
            self.add_error(name, "Leave this empty, or the points: they tell it already.")
        elif name in self.fields:
            self.add_error(name, f"{self.fields[name].label} must be {refused.allowed}.")
        else:
            self.add_error(None, f"This can’t be used: it must be {refused.allowed}.")

    @property
    def case(self) -> dict[str, Any]:
        """What was read, as a case of ``python -m physics measure``."""
        read = self.cleaned_data
        shot: dict[str, Any] = {}
        if read.get("display_mph") is not None:
            shot["speed"] = {"display_mph": read["display_mph"], "at_ft": read["at_ft"]}
        if read.get("rev_frames") is not None:
            shot["rev_rate"] = {
                "frames": read["rev_frames"],
                "turns": read["turns"],
                "frames_per_second": read.get("frames_per_second") or 30.0,
            }
        seen = next((name for name in VIEWS if read.get(name) is not None), None)
        if seen is not None:
            shot["rotation"] = {seen: read[seen]}
        old: dict[str, Any] = {}
        if self.marked:
            old["ring_points_in"] = [[over, up] for _, over, up in self.marked]
        if read.get("pap_over_in") is not None:
            old["pap"] = {"over_in": read["pap_over_in"], "up_in": read["pap_up_in"]}
        if read.get("ring_width_in") is not None:
            old["tilt"] = {"ring_width_in": read["ring_width_in"]}
        case: dict[str, Any] = {"hand": self.fitting.bowler.hand, "shots": [shot] if shot else []}
        if old:
            case["old_ball"] = old
        if read.get("average") is not None:
            case["average"] = read["average"]
        return case

    @property
    def sections(self) -> list[Section]:
        return [
            Section(
                "House display",
                "The speed lost from release to where it reads is worked out.",
                [self["display_mph"], self["at_ft"]],
            ),
            Section(
                "The customer’s own video",
                "Frames from a mark till it is back where it was, just after release; the PAP from "
                "above, back from straight across, or from behind, sideways over half the ball’s "
                "width.",
                [self[n] for n in ("turns", "rev_frames", "frames_per_second", *VIEWS)],
            ),
            Section(
                "Average",
                "What isn’t read is taken to be as in bowlers of this average.",
                [self["average"]],
            ),
        ]

    @property
    def old_ball(self) -> list[forms.BoundField]:
        return [self[name] for name in (*PAP_NAMES, "ring_width_in")]

    @property
    def plate(self) -> Plate:
        values = {n.name: n.value for n in self.found.numbers} if self.found else {}
        found = (
            (values["pap_over_in"], values["pap_up_in"], values["tilt_deg"])
            if values and self.marked
            else None
        )
        return plate(self.marked, self.fitting.bowler.hand, found)

    @property
    def questions(self) -> list[str]:
        """Numbers read that few bowlers have: asked about, and kept."""
        return unusual({n.name: n.value for n in self.numbers if n.source})

    @property
    def numbers(self) -> list[Known]:
        return self.found.numbers if self.found is not None else []


def no_throw_start(fitting: Fitting, delivery: Delivery | None) -> dict[str, Any]:
    """The boxes as they were left; the average on record in a new one."""
    if delivery is None:
        return {"average": fitting.bowler.average}
    case = delivery.raw
    shot = (case.get("shots") or [{}])[0]
    old = case.get("old_ball", {})
    start: dict[str, Any] = {"average": case.get("average")}
    start |= shot.get("speed", {}) | shot.get("rotation", {})
    film = shot.get("rev_rate", {})
    start |= {n: film[n] for n in ("turns", "frames_per_second") if n in film}
    start["rev_frames"] = film.get("frames")
    start["ring_width_in"] = old.get("tilt", {}).get("ring_width_in")
    start |= {f"pap_{name}": value for name, value in old.get("pap", {}).items()}
    for number, (over, up) in zip(PLACES, old.get("ring_points_in", []), strict=False):
        start |= {f"point_{number}_over": over, f"point_{number}_up": up}
    return start
