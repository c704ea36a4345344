"""The bowler's own page, and the shop's page that makes its link."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from functools import wraps

import segno
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.templatetags.static import static
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_POST, require_safe

from arsenal.phone import guard, services
from arsenal.phone.by_ball import by_ball
from arsenal.phone.forms import LinkForm, ReportForm
from arsenal.phone.models import PhoneLink, PhoneReport, PhoneSheet
from arsenal.phone.sheets import take_off
from arsenal.phone.tasks import prepare_page
from arsenal.refusals import refusal_words
from bowlers.models import Bowler
from physics.errors import InputError
from proshop.access import ShopRequest, once, staff_required

PhoneView = Callable[[HttpRequest, PhoneLink], HttpResponse]


def _with_link(view: PhoneView) -> Callable[[HttpRequest, str], HttpResponse]:
    """A view of a link that is open; what was ended or never there is said in words.

    Without cookies or signing in: the address is the key, so forms need no token of a session.
    """

    @wraps(view)
    def opened(request: HttpRequest, token: str) -> HttpResponse:
        link = services.link_of(token)
        if link is None:
            too_many = guard.missed(request)
            response = _closed(request, "unknown", 429 if too_many else 404)
        elif not link.is_open:
            response = _closed(request, link.state(), 410)
        else:
            response = view(request, link)
        response["X-Robots-Tag"] = "noindex, nofollow, noarchive"
        response["Referrer-Policy"] = "no-referrer"
        response["Cache-Control"] = "private, no-cache"
        return response

    return login_not_required(csrf_exempt(opened))


def _closed(request: HttpRequest, why: str, status: int) -> HttpResponse:
    return render(request, "arsenal/phone/closed.html", {"why": why}, status=status)


@gzip_page
@require_safe
@_with_link
def phone_page(request: HttpRequest, link: PhoneLink) -> HttpResponse:
    """Where the gaps are, what to start with, and what then."""
    services.note_opened(link)
    page = services.page_of(link)
    return render(request, "arsenal/phone/page.html", _context(link, page, _fresh_form(link)))


@gzip_page
@require_safe
@_with_link
def phone_by_ball(request: HttpRequest, link: PhoneLink) -> HttpResponse:
    """The page's picture ball by ball, as a figure; fetched only when asked for."""
    rows = services.page_of(link).rows
    if rows is None:
        return JsonResponse({"error": "Nothing is worked out yet."}, status=404)
    return JsonResponse(by_ball(rows))


@require_POST
@_with_link
def phone_report(request: HttpRequest, link: PhoneLink) -> HttpResponse:
    """What the bowler saw, for the shop to look at."""
    if not link.takes_reports:
        return _closed(request, "reports", 403)
    form = ReportForm(request.POST, bowler=link.bowler)
    if form.is_valid():
        try:
            services.send_report(link=link, form=form)
        except services.TooMany:
            form.add_error(None, "Many reports wait for the shop already: send this one later.")
        else:
            return redirect(request.path.removesuffix("report/") + "?sent=1#report")
    page = services.page_of(link)
    return render(request, "arsenal/phone/page.html", _context(link, page, form), status=422)


@login_not_required
@require_safe
def phone_worker(request: HttpRequest) -> HttpResponse:
    """The script that keeps a page for when there is no signal; it serves nothing else."""
    kept = [
        static(name)
        for name in (
            "proshop/tokens.css",
            "arsenal/advice.css",
            "arsenal/phone.css",
            "arsenal/phone.js",
        )
    ]
    return render(
        request,
        "arsenal/phone/worker.js",
        {"kept": kept},
        content_type="text/javascript; charset=utf-8",
    )


def _fresh_form(link: PhoneLink) -> ReportForm:
    today = timezone.localdate()
    start = {"form_token": uuid.uuid4(), "seen_on": today, "games": 3}
    return ReportForm(initial=start, bowler=link.bowler)


def _context(link: PhoneLink, page: services.Page, form: ReportForm) -> dict[str, object]:
    return {"link": link, "page": page, "form": form, "served_at": timezone.now()}


@staff_required
@once
def phone_link(request: ShopRequest, pk: int) -> HttpResponse:
    """A customer's link: show it, make it, make another in its place."""
    bowler = get_object_or_404(Bowler.objects.for_shop(request.shop), pk=pk)
    link = PhoneLink.objects.filter(bowler=bowler).first()
    form = LinkForm(request.POST or None, instance=link or services.new_link(bowler))
    if request.method == "POST" and form.is_valid():
        link = services.make_link(bowler=bowler, form=form, user=request.user)
        messages.success(request, "The page is open. Show the square, or send the address.")
        ranking = services.ranking_for(bowler)
        if ranking is not None:
            prepare_page.enqueue(ranking.pk)
        return redirect(link)
    context = {
        "bowler": bowler,
        "link": link,
        "form": form,
        "sheets": bowler.phone_sheets.all(),
        **_shown(request, link),
    }
    return render(request, "arsenal/phone/link.html", context)


def _shown(request: HttpRequest, link: PhoneLink | None) -> dict[str, object]:
    """The address of an open link, and it as a square of black and white."""
    token = link.token if link is not None and link.is_open else None
    if token is None:
        return {}
    address = request.build_absolute_uri(reverse("phone-page", args=[token]))
    square = segno.make(address, error="m").svg_inline(
        scale=5, border=2, dark="#000", light="#fff", svgclass="phone-square", lineclass=None,
        omitsize=True, title="The address as a square to photograph",
    )  # fmt: skip
    return {"address": address, "square": mark_safe(square)}  # noqa: S308  # made from the address above


@staff_required
@once
def phone_link_end(request: ShopRequest, pk: int) -> HttpResponse:
    """Take a link back: its address is dead at once."""
    bowler = get_object_or_404(Bowler.objects.for_shop(request.shop), pk=pk)
    link = PhoneLink.objects.filter(bowler=bowler).first()
    if request.method == "POST" and link is not None:
        services.revoke(link)
        messages.success(request, "The page is closed: its address leads nowhere now.")
    return redirect("phone-link", bowler.pk)


@staff_required
@once
def phone_sheet_off(request: ShopRequest, pk: int) -> HttpResponse:
    """Take a plan, or two balls side by side, off a customer's page."""
    sheets = PhoneSheet.objects.for_shop(request.shop)
    sheet = get_object_or_404(sheets.select_related("bowler"), pk=pk)
    if request.method == "POST":
        take_off(sheet)
        messages.success(request, f"“{sheet.heading}” is off the page.")
    return redirect("phone-link", sheet.bowler_id)


@staff_required
@once
def phone_report_decide(request: ShopRequest, pk: int) -> HttpResponse:
    """Take a report over into what was seen, or leave it unused."""
    reports = PhoneReport.objects.for_shop(request.shop)
    report = get_object_or_404(reports.select_related("ball", "condition", "bowler"), pk=pk)
    if request.method == "POST":
        if request.POST.get("take") == "0":
            done = services.drop_report(report=report, user=request.user)
            said = f"{report} is not used."
        else:
            try:
                done = services.accept_report(report=report, user=request.user) is not None
            except InputError as error:
                messages.error(request, f"{report} can’t be used. {refusal_words(error)}")
                return redirect("afterwards", report.bowler_id)
            said = f"{report} counts now."
        if done:
            messages.success(request, said)
        else:
            messages.info(request, "Somebody decided on that report already.")
    return redirect("afterwards", report.bowler_id)
