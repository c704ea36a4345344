"""Home, signing in, the glossary and the pages for when something went wrong."""

from django.contrib.auth.views import LoginView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from .access import ShopRequest, staff_required


class SignIn(LoginView):
    """The only page a stranger sees."""

    template_name = "proshop/sign_in.html"
    redirect_authenticated_user = True


@staff_required
def home(request: ShopRequest) -> HttpResponse:
    """Search for a customer, or go on with recent work."""
    return render(request, "proshop/home.html")


@staff_required
def glossary(request: ShopRequest) -> HttpResponse:
    """The words of the trade and of this site."""
    return render(request, "proshop/glossary.html")


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "400.html", status=400)


def permission_denied(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "403.html", {"reason": str(exception)}, status=403)


def page_not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "404.html", status=404)


def server_error(request: HttpRequest) -> HttpResponse:
    return render(request, "500.html", status=500)


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """The form was too old, or came from elsewhere."""
    return render(request, "403_csrf.html", status=403)
