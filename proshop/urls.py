"""Addresses of the site."""

from importlib.util import find_spec

from django.contrib.auth import views as auth_views
from django.contrib.auth.decorators import login_not_required
from django.urls import URLPattern, URLResolver, include, path

from . import views

urlpatterns: list[URLPattern | URLResolver] = [
    path("", views.home, name="home"),
    path("sign-in/", login_not_required(views.SignIn.as_view()), name="sign-in"),
    path("sign-out/", auth_views.LogoutView.as_view(), name="sign-out"),
    path("glossary/", views.glossary, name="glossary"),
]
for app in ("bowlers", "arsenal"):
    if find_spec(f"{app}.urls") and find_spec(f"{app}.engine"):
        urlpatterns.append(path("", include(f"{app}.urls")))

handler400 = "proshop.views.bad_request"
handler403 = "proshop.views.permission_denied"
handler404 = "proshop.views.page_not_found"
handler500 = "proshop.views.server_error"
