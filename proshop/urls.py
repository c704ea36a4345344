"""Addresses of the site."""

from django.contrib.auth import views as auth_views
from django.contrib.auth.decorators import login_not_required
from django.urls import include, path

from . import views

urlpatterns = [
    path("", views.home, name="home"),
    path("sign-in/", login_not_required(views.SignIn.as_view()), name="sign-in"),
    path("sign-out/", auth_views.LogoutView.as_view(), name="sign-out"),
    path("health/", login_not_required(views.healthy), name="health"),
    path("units/", views.units, name="units"),
    path("glossary/", views.glossary, name="glossary"),
    path("", include("proshop.accounts.urls")),
    path("", include("proshop.files.urls")),
    path("", include("bowlers.urls")),
    path("", include("arsenal.urls")),
]

handler400 = "proshop.views.bad_request"
handler403 = "proshop.views.permission_denied"
handler404 = "proshop.views.page_not_found"
handler500 = "proshop.views.server_error"
