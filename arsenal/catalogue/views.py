"""Pages of the catalogue and the shelf."""

from __future__ import annotations

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from arsenal.catalogue.forms import BallModelForm, SpecFormSet, StockBallForm, starting_label
from arsenal.catalogue.models import BallModel, BallSpec, StockBall
from arsenal.catalogue.services import FEW, by_weight, save_model_with_specs, set_state
from arsenal.changes import changes_with_rows
from arsenal.fields import whole_number
from bowlers.models import Bowler
from proshop.access import ShopRequest, once, staff_required
from proshop.history import changes
from proshop.models import StaleRecord

PAGE = 50


@staff_required
def catalogue(request: ShopRequest) -> HttpResponse:
    """The shop's ball models, searched by name or cover."""
    words = request.GET.get("q", "").strip()
    models = BallModel.objects.for_shop(request.shop).with_specs()
    page = Paginator(models.search(words), PAGE).get_page(request.GET.get("page"))
    return render(request, "arsenal/catalogue/list.html", {"page": page, "words": words})


@staff_required
def ball_model(request: ShopRequest, pk: int) -> HttpResponse:
    """One ball model with its figures by weight and what is on the shelf of it."""
    model = get_object_or_404(BallModel.objects.for_shop(request.shop).with_specs(), pk=pk)
    shelf = StockBall.objects.for_shop(request.shop).on_shelf().with_model()
    context = {
        "model": model,
        "shelf": shelf.filter(spec__model=model),
        "changes": changes_with_rows(model, BallSpec, link="model_id", name="weight_lb"),
    }
    return render(request, "arsenal/catalogue/model.html", context)


@staff_required
@once
def ball_model_form(request: ShopRequest, pk: int | None = None) -> HttpResponse:
    """Add or edit a ball model together with its figures."""
    models = BallModel.objects.for_shop(request.shop)
    model = get_object_or_404(models, pk=pk) if pk else BallModel(shop=request.shop)
    heading = f"Edit {model.name}" if pk else "Add a ball model"
    form = BallModelForm(request.POST or None, instance=model, shop=request.shop)
    specs = SpecFormSet(request.POST or None, instance=model, prefix="specs")
    if request.method == "POST" and all([form.is_valid(), specs.is_valid()]):
        model = save_model_with_specs(form=form, specs=specs)
        messages.success(request, f"{model.name} is in the catalogue.")
        return redirect(model)
    context = {"form": form, "specs": specs, "heading": heading, "pk": pk}
    return render(request, "arsenal/catalogue/model_form.html", context)


@staff_required
def shelf(request: ShopRequest) -> HttpResponse:
    """The balls in one state, on the shelf unless another is asked for, and how many by weight."""
    words = request.GET.get("q", "").strip()
    states = StockBall.State
    state = request.GET.get("state", "")
    state = states(state) if state in states.values else states.SHELF
    balls = StockBall.objects.for_shop(request.shop).with_model().filter(state=state)
    balls = balls.select_related("promised_to")
    page = Paginator(balls.search(words), PAGE).get_page(request.GET.get("page"))
    weights = by_weight(request.shop) if state == states.SHELF and not words else []
    context = {
        "page": page,
        "words": words,
        "state": state,
        "states": list(states),
        "moves": MOVES[state],
        "weights": weights,
        "low": [row for row in weights if row.is_low],
        "few": FEW,
        "any_models": bool(page.object_list) or BallModel.objects.for_shop(request.shop).exists(),
    }
    return render(request, "arsenal/catalogue/shelf.html", context)


@staff_required
@once
def stock_ball_add(request: ShopRequest) -> HttpResponse:
    """Pick model and weight, then copy the label."""
    specs = BallSpec.objects.for_shop(request.shop).with_model()
    spec_pk = whole_number(request.GET.get("spec"))
    if spec_pk is None:
        return pick(request, heading="Add a ball to the shelf", back=reverse("shelf"))
    spec = get_object_or_404(specs, pk=spec_pk)
    initial = {**starting_label(spec), "price": spec.model.price}
    form = StockBallForm(request.POST or None, initial=initial, shop=request.shop, spec=spec)
    if request.method == "POST" and form.is_valid():
        messages.success(request, f"{form.save()} is on the shelf.")
        return redirect("shelf")
    context = {"form": form, "heading": f"Add {spec.model} to the shelf", "spec": spec}
    return render(request, "arsenal/catalogue/stock_form.html", context)


@staff_required
@once
def stock_ball_edit(request: ShopRequest, pk: int) -> HttpResponse:
    """Correct what was copied from a label."""
    balls = StockBall.objects.for_shop(request.shop).with_model()
    ball = get_object_or_404(balls, pk=pk)
    heading = f"Edit {ball}"
    form = StockBallForm(request.POST or None, instance=ball, spec=ball.spec)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, f"{ball} is saved.")
        return redirect("shelf")
    context = {"form": form, "heading": heading, "ball": ball, "changes": changes(ball)}
    return render(request, "arsenal/catalogue/stock_form.html", context)


# What the counter may make of a ball in each state, with the words of its button.
MOVES: dict[str, list[tuple[str, str]]] = {
    "shelf": [("promised", "Promise it"), ("sold", "Mark as sold"), ("returned", "Sent back")],
    "promised": [("shelf", "Put back"), ("sold", "Mark as sold")],
    "sold": [("shelf", "Put back")],
    "returned": [("shelf", "Put back")],
}


@staff_required
@once
def stock_ball_move(request: ShopRequest, pk: int) -> HttpResponse:
    """Promise a ball, sell it, send it back, or put it on the shelf again, as ``state`` says."""
    ball = get_object_or_404(StockBall.objects.for_shop(request.shop).with_model(), pk=pk)
    state = request.POST.get("state", "")
    if request.method != "POST":
        return redirect("shelf")
    if state not in {to for to, _ in MOVES[ball.state]}:
        messages.error(
            request,
            f"{ball} is {ball.get_state_display().lower()} and can’t go there from here: look at "
            "it again.",
        )
        return redirect("shelf")
    version = whole_number(request.POST.get("record_version")) or 0
    try:
        set_state(ball=ball, expected_version=version, state=state)
    except StaleRecord:
        messages.error(request, f"{ball} was changed meanwhile. Look at it again, then decide.")
    else:
        messages.success(request, f"{ball} is {ball.get_state_display().lower()}.")
    return redirect("shelf")


def pick(
    request: ShopRequest, *, heading: str, back: str, bowler: Bowler | None = None
) -> HttpResponse:
    """Models with a button for each weight; the button comes back with ``?spec=``.

    With a customer the balls on the shelf are offered too, and those promised to them, which come
    back with ``?stock=``.
    """
    words = request.GET.get("q", "").strip()
    models = BallModel.objects.for_shop(request.shop).with_specs()
    shelf = StockBall.objects.for_shop(request.shop).with_model().search(words)
    context = {
        "page": Paginator(models.search(words), PAGE).get_page(request.GET.get("page")),
        "shelf": shelf.within_reach_of(bowler)[:PAGE] if bowler else [],
        "words": words,
        "heading": heading,
        "back": back,
    }
    return render(request, "arsenal/catalogue/pick.html", context)


def picked(request: ShopRequest, bowler: Bowler) -> tuple[StockBall | None, BallSpec | None]:
    """The ball of the shop or the spec that the address names; 404 when there is no such."""
    if stock_pk := whole_number(request.GET.get("stock")):
        shelf = StockBall.objects.for_shop(request.shop).within_reach_of(bowler).with_model()
        stock = get_object_or_404(shelf, pk=stock_pk)
        return stock, stock.spec
    if spec_pk := whole_number(request.GET.get("spec")):
        specs = BallSpec.objects.for_shop(request.shop).with_model()
        return None, get_object_or_404(specs, pk=spec_pk)
    return None, None
