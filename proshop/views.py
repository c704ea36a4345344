"""Home, signing in, the glossary and the pages for when something went wrong."""

from django.contrib.auth.views import LoginView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string

from bowlers.models import Bowler, Fitting

from .access import ShopRequest, staff_required
from .glossary import PARTS

FOUND_ON_HOME = 12
FITTINGS_ON_HOME = 6


class SignIn(LoginView):
    """The only page a stranger sees."""

    template_name = "proshop/sign_in.html"
    redirect_authenticated_user = True


@staff_required
def home(request: ShopRequest) -> HttpResponse:
    """Search for a customer, or go on with recent work."""
    words = request.GET.get("q", "").strip()
    customers = Bowler.objects.for_shop(request.shop)
    fittings = Fitting.objects.for_shop(request.shop).select_related("bowler").newest_first()
    found = list(customers.search(words).with_last_fitting()[: FOUND_ON_HOME + 1]) if words else []
    context = {
        "words": words,
        "found": found[:FOUND_ON_HOME],
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


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "400.html", status=400)


def permission_denied(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "403.html", {"reason": str(exception)}, status=403)


def page_not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "404.html", status=404)


def server_error(request: HttpRequest) -> HttpResponse:
    # Without the request: its context asks the database, which may be what broke.
    return HttpResponse(render_to_string("500.html"), status=500)


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """The form was too old, or came from elsewhere."""
    return render(request, "403_csrf.html", status=403)
