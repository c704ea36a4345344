"""The page of a ball's plate."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any
from urllib.parse import urlencode

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe
from django_htmx.http import replace_url

from arsenal.bag.layout_fields import LAYOUT_FIELDS
from arsenal.bag.models import Hole, LayoutNotation, OwnedBall
from arsenal.engine import plates
from arsenal.plate.forms import PRESETS, PlateForm, stepped, typed, typed_holes
from arsenal.plate.services import plate_of, question_of
from physics.errors import InputError
from proshop.access import ShopRequest, staff_required

# Boxes of holes begin with these.
HOLE_NAMES = tuple(f"{kind}_" for kind in Hole.Kind.values)


@staff_required
@require_safe
def plate(request: ShopRequest, pk: int) -> HttpResponse:
    """A ball's layout, stepped: what moves on the plate and what becomes of its numbers.

    Nothing is stored; the address holds what was typed. A part of the page is sent where a part
    is asked for.
    """
    balls = OwnedBall.objects.for_shop(request.shop).with_holes()
    ball = get_object_or_404(balls.select_related("bowler__shop"), pk=pk)
    question = question_of(ball)
    holes = question["ball"]["holes"]
    boxes = _boxes(request, ball, holes)
    form = _read(question, PlateForm(boxes, holes=holes), request.GET.get("preset"))
    context: dict[str, Any] = {"ball": ball, "bowler": ball.bowler, "form": form}
    if form.is_valid():
        moved = form.moved_holes
        context["holes_open"] = bool(moved) or request.GET.get("step", "").startswith(HOLE_NAMES)
        try:
            context["plate"] = plate_of(question, form.numbers, form.pap_in, form.holes)
            kept = {name for name in form.data if not name.startswith(HOLE_NAMES)} | set(moved)
            context["address"] = urlencode({name: form.data[name] for name in sorted(kept)})
        except InputError as error:
            form.refuse(error)
    if form.errors:
        context["holes_open"] = any(name.startswith(HOLE_NAMES) for name in form.errors)
    template = {"plate-found": "_found", "plate": "_stepping"}.get(request.htmx.target or "")
    response = render(request, f"arsenal/plate/{template or 'plate'}.html", context)
    return replace_url(response, f"?{urlencode(form.data)}") if request.htmx else response


def _boxes(
    request: ShopRequest, ball: OwnedBall, holes: Sequence[Mapping[str, Any]]
) -> dict[str, str]:
    """What the boxes hold: what was typed and stepped, or the ball's own layout at first; its own
    holes where the address doesn't say."""
    if "read_as" not in request.GET:
        pap_in = (ball.pap_over_in, ball.pap_up_in)
        return typed(ball.layout_notation, ball.layout_numbers, pap_in) | typed_holes(holes)
    names = {"layout_notation", "read_as", *PlateForm(holes=holes).fields}
    boxes = {name: str(value) for name, value in request.GET.items() if name in names}
    return stepped(typed_holes(holes) | boxes, request.GET.get("step", ""), holes)


def _read(question: Mapping[str, Any], form: PlateForm, preset: str | None) -> PlateForm:
    """The form, turned into the notation wanted, and to the pin up or down where that was asked."""
    if not form.is_valid():
        return form
    notation, wanted = form.cleaned_data["read_as"], form.cleaned_data["layout_notation"]
    turned = preset in PRESETS
    if notation == wanted and not turned:
        return form
    radius_in = question["ball"]["label"]["radius_in"]
    try:
        numbers = plates.layout_of(form.numbers, form.pap_in, radius_in)
        if turned:
            angles = {name: numbers[name] for name in LAYOUT_FIELDS[LayoutNotation.ANGLES]}
            angles["val_angle_deg"] = PRESETS[str(preset)]
            numbers = plates.layout_of(angles, form.pap_in, radius_in)
    except InputError as error:
        form.refuse(error)
        return form
    kept = {name: form.data[name] for name in form.data if name.startswith(HOLE_NAMES)}
    other = PlateForm(typed(wanted, numbers, form.pap_in) | kept, holes=form.own)
    other.is_valid()
    return other
