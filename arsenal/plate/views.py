"""The page of a ball's plate."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe
from django_htmx.http import replace_url

from arsenal.bag.layout_fields import LAYOUT_FIELDS
from arsenal.bag.models import LayoutNotation, OwnedBall
from arsenal.engine import plates
from arsenal.plate.forms import PRESETS, PlateForm, stepped, typed
from arsenal.plate.services import plate_of, question_of
from arsenal.refusals import refuse
from physics.errors import InputError
from proshop.access import ShopRequest, staff_required


@staff_required
@require_safe
def plate(request: ShopRequest, pk: int) -> HttpResponse:
    """A ball's layout, stepped: what moves on the plate and what becomes of its numbers.

    Nothing is stored; the address holds what was typed. A part of the page is sent where a part
    is asked for.
    """
    balls = OwnedBall.objects.for_shop(request.shop).with_drilling()
    ball = get_object_or_404(balls.select_related("bowler__shop"), pk=pk)
    boxes = _boxes(request, ball)
    form = _read(ball, PlateForm(boxes), request.GET.get("preset"))
    context: dict[str, Any] = {"ball": ball, "bowler": ball.bowler, "form": form}
    if form.is_valid():
        try:
            context["plate"] = plate_of(ball, form.numbers, form.pap_in)
            context["address"] = urlencode(form.data)
        except InputError as error:
            refuse(form, error, form.names)
    template = {"plate-found": "_found", "plate": "_stepping"}.get(request.htmx.target or "")
    response = render(request, f"arsenal/plate/{template or 'plate'}.html", context)
    return replace_url(response, f"?{urlencode(form.data)}") if request.htmx else response


def _boxes(request: ShopRequest, ball: OwnedBall) -> dict[str, str]:
    """What the boxes hold: what was typed and stepped, or the ball's own layout at first."""
    if "read_as" not in request.GET:
        pap_in = (ball.pap_over_in, ball.pap_up_in)
        return typed(ball.layout_notation, ball.layout_numbers, pap_in)
    names = {"layout_notation", "read_as", *PlateForm().fields}
    boxes = {name: str(value) for name, value in request.GET.items() if name in names}
    return stepped(boxes, request.GET.get("step", ""))


def _read(ball: OwnedBall, form: PlateForm, preset: str | None) -> PlateForm:
    """The form, turned into the notation wanted, and to the pin up or down where that was asked."""
    if not form.is_valid():
        return form
    notation, wanted = form.cleaned_data["read_as"], form.cleaned_data["layout_notation"]
    turned = preset in PRESETS
    if notation == wanted and not turned:
        return form
    radius_in = question_of(ball)["ball"]["label"]["radius_in"]
    try:
        numbers = plates.layout_of(form.numbers, form.pap_in, radius_in)
        if turned:
            angles = {name: numbers[name] for name in LAYOUT_FIELDS[LayoutNotation.ANGLES]}
            angles["val_angle_deg"] = PRESETS[str(preset)]
            numbers = plates.layout_of(angles, form.pap_in, radius_in)
    except InputError as error:
        refuse(form, error, form.names)
        return form
    other = PlateForm(typed(wanted, numbers, form.pap_in))
    other.is_valid()
    return other
