"""Two people on one record, at every form that changes one: nobody overwrites in silence."""

from collections.abc import Iterator
from typing import Any

import pytest
from django import forms
from django.contrib.auth.models import User
from django.http import QueryDict
from django.test import Client
from django.urls import get_resolver, reverse

from arsenal.models import OwnedBall
from bowlers.models import Bowler
from proshop import conflict
from proshop.forms import RecordForm
from proshop.models import Shop, ShopRecord
from tests.furnished import furnish
from tests.proshop.test_stale import opened

# Forms of records that can't overwrite anything, and why.
CAN_T_OVERWRITE = {
    "ReportForm": "only ever adds a report",
}
# What a form that changes no record of its own does: listed so that a new one is thought about.
PLAIN = {"AccountForm", "NewPersonForm", "CareForm", "BallSpecForm", "HoleForm", "PlannedHoleForm"}


def forms_below(kind: Any) -> Iterator[Any]:
    for one in kind.__subclasses__():
        yield one
        yield from forms_below(one)


def model_forms() -> dict[str, Any]:
    # Everything a page uses is imported by the addresses.
    assert get_resolver().url_patterns
    ours = ("proshop.", "bowlers.", "arsenal.")
    return {
        one.__name__: one
        for one in forms_below(forms.BaseModelForm)
        if one.__module__.startswith(ours) and getattr(one._meta, "model", None) is not None
    }


def test_every_form_that_changes_a_stored_record_minds_its_version() -> None:
    found = model_forms()
    assert len(found) > 20
    unminded = {
        name
        for name, form in found.items()
        if issubclass(form._meta.model, ShopRecord) and not issubclass(form, RecordForm)
    }
    assert unminded == set(CAN_T_OVERWRITE)
    others = {name for name, form in found.items() if not issubclass(form, RecordForm)}
    assert others == PLAIN | set(CAN_T_OVERWRITE)


def edit_pages(shop: Shop, user: User) -> list[tuple[str, str]]:
    """Addresses on which a furnished record is edited by a form that minds its version."""
    found = furnish(shop, user).by_path
    names = {
        "customer-edit": "customers",
        "fitting-edit": "fittings",
        "grip-edit": "grips",
        "owned-ball-edit": "bag",
        "ball-model-edit": "models",
        "stock-ball-edit": "shelf",
        "house-edit": "houses",
        "condition-edit": "conditions",
        "ticket-edit": "tickets",
    }
    return [(name, reverse(name, args=[found[path]])) for name, path in names.items()]


def shown(page: Any) -> list[Any]:
    """Everything the page's templates were given."""
    return [one for context in page.context for one in context.flatten().values()]


def sent_as_opened(page: Any, form: Any) -> dict[str, Any]:
    """What a browser sends when nothing was touched: the form and its rows."""
    values: dict[str, Any] = {}
    rows = [one for one in shown(page) if isinstance(one, forms.BaseFormSet)]
    every = [form, *(each for formset in rows for each in [formset.management_form, *formset])]
    for one in every:
        for field in one:
            value = field.value()
            if value in (None, "", False) or isinstance(field.field, forms.FileField):
                continue
            sent = field.field.widget.format_value(value)
            checkbox = isinstance(field.field.widget, forms.CheckboxInput)
            many = isinstance(value, list | tuple)
            single = sent[0] if isinstance(sent, list) and sent else sent
            values[field.html_name] = "on" if checkbox else value if many else single
    return values


@pytest.mark.parametrize("index", range(9))
def test_the_second_saver_is_told_and_may_still_save(
    index: int, staff_client: Client, second_staff_client: Client, shop: Shop, staff: User
) -> None:
    name, address = edit_pages(shop, staff)[index]
    page = staff_client.get(address)
    form = next(one for one in shown(page) if isinstance(one, RecordForm))
    mine = sent_as_opened(page, form)
    first = second_staff_client.post(address, mine)
    assert first.status_code == 302, name
    told = staff_client.post(address, mine)
    assert told.status_code == 200, name
    text = told.content.decode()
    assert "Dana saved this record" in text
    assert 'name="keep_whole"' in text
    # Without a version nothing is saved either.
    without = {key: value for key, value in mine.items() if key != "record_version"}
    assert staff_client.post(address, without).status_code == 200, name
    again = {**mine, "record_version": told.context["form"]["record_version"].value()}
    assert staff_client.post(address, {**again, "keep_whole": "mine"}).status_code == 302, name


@pytest.fixture
def bowler(shop: Shop) -> Bowler:
    record: Bowler = Bowler.objects.create(
        shop=shop, name="Juniper Vale", average=150, goal="Carry more"
    )
    return record


@pytest.fixture
def told(
    staff_client: Client, second_staff_client: Client, bowler: Bowler
) -> tuple[str, dict[str, Any], str]:
    """Sam changed average and notes, Dana average and goal meanwhile: what Sam sends next, and
    the page that told of it."""
    address = reverse("customer-edit", args=[bowler.pk])
    mine, theirs = opened(staff_client, bowler), opened(second_staff_client, bowler)
    second_staff_client.post(address, {**theirs, "average": "171", "goal": "Fewer splits"})
    mine = {**mine, "average": "165", "notes": "Left knee"}
    answer = staff_client.post(address, mine)
    version = answer.context["form"]["record_version"].value()
    return address, {**mine, "record_version": version}, answer.content.decode()


def said(bowler: Bowler) -> tuple[int | None, str, str]:
    bowler.refresh_from_db()
    return bowler.average, bowler.goal, bowler.notes


def picked(page: str, name: str) -> str:
    """Which version is picked to begin with."""
    for value in ("mine", "stored"):
        if f'name="keep_{name}" value="{value}" checked' in page:
            return value
    return ""


def test_both_versions_stand_side_by_side(told: Any) -> None:
    _, _, page = told
    for shown in ("Yours: 165", "Stored now: 171", "Yours: Carry more", "Stored now: Fewer splits"):
        assert shown in page
    assert "you both changed it" in page
    # Whoever changed it alone is picked; what both changed stays with who is asked.
    assert (picked(page, "average"), picked(page, "goal"), picked(page, "notes")) == (
        "mine",
        "stored",
        "mine",
    )
    assert picked(page, "hand") == ""


def test_nothing_is_saved_before_it_is_chosen(told: Any, bowler: Bowler) -> None:
    assert said(bowler) == (171, "Fewer splits", "")


@pytest.mark.parametrize(
    ("choice", "stored"),
    [
        ({"keep_average": "stored", "keep_goal": "stored"}, (171, "Fewer splits", "Left knee")),
        ({"keep_average": "mine", "keep_goal": "stored"}, (165, "Fewer splits", "Left knee")),
        ({"keep_goal": "mine", "keep_notes": "stored"}, (165, "Carry more", "")),
        ({"keep_goal": "stored", "keep_whole": "mine"}, (165, "Carry more", "Left knee")),
        # Nonsense is no choice.
        ({"keep_average": "x", "keep_pk": "stored", "keep_record_version": "stored"},
         (165, "Carry more", "Left knee")),
    ],
)  # fmt: skip
def test_field_by_field_or_whole(
    choice: dict[str, str], stored: Any, told: Any, staff_client: Client, bowler: Bowler
) -> None:
    address, again, _ = told
    assert staff_client.post(address, {**again, **choice}).status_code == 302
    assert said(bowler) == stored


def test_a_box_that_a_colleague_emptied_is_kept_empty_where_that_is_chosen(
    staff_client: Client, second_staff_client: Client, bowler: Bowler
) -> None:
    address = reverse("customer-edit", args=[bowler.pk])
    mine, theirs = opened(staff_client, bowler), opened(second_staff_client, bowler)
    second_staff_client.post(address, {**theirs, "average": ""})
    mine = {**mine, "average": "165", "notes": "Left knee"}
    version = staff_client.post(address, mine).context["form"]["record_version"].value()
    staff_client.post(address, {**mine, "record_version": version, "keep_average": "stored"})
    assert said(bowler) == (None, "Carry more", "Left knee")


def test_a_choice_survives_another_fault_of_the_form(
    told: Any, staff_client: Client, bowler: Bowler
) -> None:
    """What is stored was chosen, and something else refused: the box holds what was chosen."""
    address, again, _ = told
    choice = {"keep_average": "stored", "keep_goal": "stored"}
    refused = staff_client.post(address, {**again, **choice, "born": "1200"})
    assert refused.status_code == 200
    form = refused.context["form"]
    assert (str(form["average"].value()), form["goal"].value()) == ("171", "Fewer splits")


def test_a_third_who_comes_between_is_told_of_as_well(
    told: Any, staff_client: Client, owner_client: Client, bowler: Bowler
) -> None:
    address, again, _ = told
    owner_client.post(address, {**opened(owner_client, bowler), "average": "180"})
    answer = staff_client.post(address, {**again, "keep_average": "mine"})
    assert answer.status_code == 200
    assert "Olive saved this record" in answer.content.decode()
    assert said(bowler)[0] == 180


def test_rows_of_a_record_are_shown_as_they_are_stored(
    staff_client: Client, second_staff_client: Client, shop: Shop, staff: User
) -> None:
    """A ball's holes are part of what would be replaced."""
    ball = OwnedBall.objects.get(pk=furnish(shop, staff).by_path["bag"])
    address = reverse("owned-ball-edit", args=[ball.pk])
    page = staff_client.get(address)
    form = page.context["form"]
    mine = sent_as_opened(page, form)
    second_staff_client.post(address, {**mine, "nickname": "Theirs"})
    text = staff_client.post(address, mine).content.decode()
    assert "Holes stored now:" in text
    assert "diameter 0.969" in text
    assert "Stored now: Theirs" in text


def test_markup_in_a_value_stays_text(
    staff_client: Client, second_staff_client: Client, bowler: Bowler
) -> None:
    address = reverse("customer-edit", args=[bowler.pk])
    mine, theirs = opened(staff_client, bowler), opened(second_staff_client, bowler)
    second_staff_client.post(address, {**theirs, "goal": "<b>bold</b>"})
    text = staff_client.post(address, {**mine, "goal": "<i>mine</i>"}).content.decode()
    assert "<b>bold" not in text
    assert "<i>mine" not in text


class Ball(forms.Form):
    """What no form of a stored record has as yet: a tick, several ticks, choices in groups."""

    own_fields = frozenset({"record_version"})
    instance = None
    plugged = forms.BooleanField(required=False)
    hurts_at = forms.MultipleChoiceField(choices=[("wrist", "Wrist"), ("thumb", "Thumb")])
    cover = forms.ChoiceField(choices=[("Dull", [("2000", "2000 grit")]), ("new", "As new")])

    def values_of(self, record: Any) -> dict[str, Any]:
        return {"plugged": False, "hurts_at": ["wrist", "thumb"], "cover": "2000"}


def test_ticks_and_groups_of_choices_are_kept_as_stored_and_told_in_words() -> None:
    sent = QueryDict("plugged=on&hurts_at=thumb&cover=new", mutable=True)
    for name in ("plugged", "hurts_at", "cover"):
        sent[f"keep_{name}"] = "stored"
    form = Ball(conflict.as_chosen(Ball(sent)))
    assert form.is_valid()
    stored = form.values_of(None)
    assert form.cleaned_data == stored
    assert {name: conflict.words(form.fields[name], value) for name, value in stored.items()} == {
        "plugged": "no",
        "hurts_at": "Wrist, Thumb",
        "cover": "2000 grit",
    }
    # And a tick that is stored and was taken away.
    Ball.values_of = lambda self, record: {"plugged": True}  # type: ignore[method-assign]
    assert conflict.as_chosen(Ball(QueryDict("keep_plugged=stored")))["plugged"] == "on"
