"""Pages of tickets: the board, one ticket, its label, and who is to be asked after."""

from __future__ import annotations

import datetime
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from arsenal import printed
from arsenal.fields import whole_number
from arsenal.prices.models import PriceList
from arsenal.tickets import services
from arsenal.tickets.forms import AskedForm, TicketForm
from arsenal.tickets.models import FollowUp, Job, Step, Ticket
from arsenal.tickets.reminders import due, reminders, told
from bowlers.models import Bowler
from proshop.access import ShopRequest, once, staff_required
from proshop.history import changes
from proshop.models import StaleRecord

# How long a collected ball stays on the board.
SHOWN_FOR = datetime.timedelta(days=7)
ASKED_A_PAGE = 40
ON_THE_BOARD = (Step.WAITING, Step.PRESS, Step.READY)


@staff_required
def board(request: ShopRequest) -> HttpResponse:
    """Every job by where it stands, and who is to be asked after: the counter's board."""
    tickets = Ticket.objects.for_shop(request.shop).whole().soonest_first()
    going_on = list(tickets.filter(step__in=ON_THE_BOARD))
    lately = timezone.now() - SHOWN_FOR
    gone = tickets.filter(step=Step.COLLECTED, collected_at__gte=lately).order_by("-collected_at")
    columns = [
        (step, [ticket for ticket in going_on if ticket.step == step]) for step in ON_THE_BOARD
    ]
    page = Paginator(due(request.shop), ASKED_A_PAGE).get_page(request.GET.get("page"))
    context = {
        "columns": columns,
        "gone": gone,
        "late": sum(ticket.is_late for ticket in going_on),
        "page": page,
        "reminders": told(request.shop, list(page)),
        "any": bool(going_on) or Ticket.objects.for_shop(request.shop).exists(),
    }
    return render(request, "arsenal/tickets/board.html", context)


@staff_required
def ticket(request: ShopRequest, pk: int) -> HttpResponse:
    """One job, with its price and what happened to it."""
    stored = _ticket_of(request, pk)
    context = {"ticket": stored, "bowler": stored.bowler, "changes": changes(stored)}
    if stored.is_open and (listed := services.total_by_list(stored)) != stored.total:
        context["by_list"] = listed
    return render(request, "arsenal/tickets/ticket.html", context)


@staff_required
@once
def ticket_add(request: ShopRequest, pk: int) -> HttpResponse:
    """Open a ticket for a service job; drilling opens its own when it is signed off."""
    bowler = get_object_or_404(Bowler.objects.for_shop(request.shop), pk=pk)
    job = request.GET.get("job", Job.CLEAN)
    job = job if job in Job.values and job not in (Job.DRILL, Job.REDRILL) else Job.CLEAN
    initial = {
        "job": job,
        "ball": whole_number(request.GET.get("ball")),
        "price_work": PriceList.of(request.shop).price(job),
        "new_thumb": job == Job.THUMB,
    }
    blank = Ticket(shop=request.shop, bowler=bowler)
    form = TicketForm(request.POST or None, instance=blank, initial=initial, bowler=bowler)
    return _form(request, bowler, form, heading=f"A ticket for {bowler}")


@staff_required
@once
def ticket_edit(request: ShopRequest, pk: int) -> HttpResponse:
    """Change what is promised, what it costs, or what is to be done."""
    stored = _ticket_of(request, pk)
    form = TicketForm(request.POST or None, instance=stored, bowler=stored.bowler)
    return _form(request, stored.bowler, form, heading=f"Change {stored.number}")


@staff_required
@once
def ticket_move(request: ShopRequest, pk: int) -> HttpResponse:
    """Move a ticket along, back, or call it off."""
    stored = _ticket_of(request, pk)
    if request.method != "POST":
        return redirect(stored)
    version = whole_number(request.POST.get("record_version")) or 0
    try:
        services.move(
            ticket=stored,
            to=request.POST.get("to", ""),
            expected_version=version,
            user=request.user,
        )
    except StaleRecord:
        messages.error(request, f"{stored.number} was moved meanwhile: look where it stands now.")
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    else:
        messages.success(request, f"{stored.number}: {stored.get_step_display().lower()}.")
    return redirect("tickets" if request.POST.get("back") == "board" else stored)


@staff_required
@once
def asked(request: ShopRequest, pk: int, about: str) -> HttpResponse:
    """Keep what a customer said when asked about a new thumb, or about having grown."""
    bowler = get_object_or_404(Bowler.objects.for_shop(request.shop), pk=pk)
    if about not in FollowUp.About.values:
        raise Http404("Nobody is asked about that.")
    waiting = [found for found in reminders(request.shop, bowler) if found.about == about]
    if not waiting:
        messages.info(request, f"{bowler} was asked already, or nothing is due.")
        return redirect("tickets")
    form = AskedForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        services.asked(reminder=waiting[0], words=form.cleaned_data["words"])
        messages.success(request, f"Kept: {bowler} was asked.")
        return redirect("tickets")
    context = {
        "title": f"Ask {bowler}",
        "form": form,
        "submit_label": "They were asked",
        "cancel_url": reverse("tickets"),
        "lead": waiting[0].words,
    }
    return render(request, "proshop/form.html", context)


@staff_required
@require_safe
def label(request: ShopRequest, pk: int) -> HttpResponse:
    """The label to stick on the box, for the browser's printer."""
    return render(request, "arsenal/tickets/label.html", _label(request, pk))


@staff_required
@require_safe
def label_pdf(request: ShopRequest, pk: int) -> HttpResponse:
    """The label as PDF, four inches by two."""
    context = _label(request, pk)
    return printed.pdf(
        request,
        "arsenal/tickets/label.html",
        context,
        name=f"label-{context['ticket'].number}",
    )


def _label(request: ShopRequest, pk: int) -> dict[str, Any]:
    stored = _ticket_of(request, pk)
    address = request.build_absolute_uri(stored.get_absolute_url())
    return {"ticket": stored, "bowler": stored.bowler, "qr": printed.qr_svg(address)}


def _ticket_of(request: ShopRequest, pk: int) -> Ticket:
    found: Ticket = get_object_or_404(Ticket.objects.for_shop(request.shop).whole(), pk=pk)
    return found


def _form(request: ShopRequest, bowler: Bowler, form: TicketForm, *, heading: str) -> HttpResponse:
    if request.method == "POST" and form.is_valid():
        saved = form.save()
        messages.success(request, f"{saved.number} is kept.")
        return redirect(saved)
    context = {"form": form, "heading": heading, "bowler": bowler, "ticket": form.instance}
    return render(request, "arsenal/tickets/form.html", context)
