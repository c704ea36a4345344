"""Home, signing in, the glossary and the pages for when something went wrong."""

import sys
from typing import Any

from django.conf import settings
from django.contrib.auth.views import LoginView
from django.core.exceptions import RequestDataTooBig, TooManyFieldsSent, TooManyFilesSent
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST, require_safe

from bowlers.finding import with_reasons
from bowlers.models import Bowler, Fitting

from . import health, metric, requests
from .access import ShopRequest, staff_required
from .accounts import second
from .glossary import PARTS

FOUND_ON_HOME = 12
FITTINGS_ON_HOME = 6


class SignIn(LoginView):
    """The only page a stranger sees."""

    template_name = "proshop/sign_in.html"
    redirect_authenticated_user = True

    def form_valid(self, form: Any) -> HttpResponse:
        user = form.get_user()
        if not second.has_one(user):
            return super().form_valid(form)
        second.wait_for_code(self.request, user, self.get_success_url())
        return redirect("sign-in-code")


@staff_required
def home(request: ShopRequest) -> HttpResponse:
    """Search for a customer, or go on with recent work."""
    words = request.GET.get("q", "").strip()
    customers = Bowler.objects.for_shop(request.shop)
    fittings = Fitting.objects.for_shop(request.shop).select_related("bowler").newest_first()
    found = list(customers.search(words).with_last_fitting()[: FOUND_ON_HOME + 1]) if words else []
    context = {
        "words": words,
        "found": with_reasons(found[:FOUND_ON_HOME], words),
        "more": len(found) > FOUND_ON_HOME,
        "any_customer": customers.exists(),
        "drafts": fittings.drafts()[:FITTINGS_ON_HOME],
        "fittings": fittings.finished()[:FITTINGS_ON_HOME],
    }
    template = "proshop/_found.html" if request.htmx else "proshop/home.html"
    return render(request, template, context)


@staff_required
def glossary(request: ShopRequest) -> HttpResponse:
    """The words of the trade and of this site."""
    return render(request, "proshop/glossary.html", {"parts": PARTS})


@staff_required
@require_POST
def units(request: ShopRequest) -> HttpResponse:
    """Show metric units in this browser, or the trade's again."""
    back = request.POST.get("next", "")
    known = url_has_allowed_host_and_scheme(back, allowed_hosts={request.get_host()})
    # A path and nothing else: `redirect` would take a word for the name of a page.
    response = HttpResponseRedirect(back if known and back.startswith("/") else reverse("home"))
    wanted = request.POST.get("units", "")
    if wanted == metric.METRIC:
        response.set_cookie(
            metric.COOKIE,
            wanted,
            max_age=metric.A_YEAR_S,
            httponly=True,
            samesite="Lax",
            secure=request.is_secure(),
        )
    else:
        response.delete_cookie(metric.COOKIE, samesite="Lax")
    return response


@require_safe
def healthy(request: HttpRequest) -> JsonResponse:
    """For whoever watches the site: 200 if it can work, 503 if not. Says nothing of anybody."""
    found = list(health.findings(quick=True))
    well = all(one.well or not one.serious for one in found)
    parts = {one.name: "well" if one.well else "wrong" for one in found}
    response = JsonResponse({"status": "well" if well else "wrong", **parts})
    response.status_code = 200 if well else 503
    response["Cache-Control"] = "no-store"
    return response


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    reason = ""
    if isinstance(exception, RequestDataTooBig):
        most = f"{settings.DATA_UPLOAD_MAX_MEMORY_SIZE / 1e6:g} MB"
        reason = f"What was typed is longer than {most}. Shorten it, then send it again."
    elif isinstance(exception, TooManyFieldsSent | TooManyFilesSent):
        reason = "The form has more boxes, or more files, than any form of this site."
    return render(request, "400.html", {"reason": reason}, status=400)


def permission_denied(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "403.html", {"reason": str(exception)}, status=403)


def page_not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "404.html", status=404)


def server_error(request: HttpRequest) -> HttpResponse:
    trouble = sys.exc_info()[1]
    if trouble is not None and (answer := requests.unavailable(trouble)) is not None:
        return answer
    # Without the request: its context asks the database, which may be what broke.
    page = render_to_string("500.html", {"request_number": requests.number.get()})
    return HttpResponse(page, status=500)


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """The form was too old, or came from elsewhere."""
    return render(request, "403_csrf.html", status=403)
