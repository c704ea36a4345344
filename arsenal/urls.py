"""Addresses of the app, room by room."""

from django.urls import include, path

urlpatterns = [
    path("", include("arsenal.catalogue.urls")),
    path("", include("arsenal.bag.urls")),
    path("", include("arsenal.plate.urls")),
    path("", include("arsenal.lanes.urls")),
    path("", include("arsenal.advice.urls")),
    path("", include("arsenal.afterwards.urls")),
    path("", include("arsenal.rules.urls")),
    path("", include("arsenal.prices.urls")),
    path("", include("arsenal.rerank.urls")),
    path("", include("arsenal.phone.urls")),
    path("", include("arsenal.press.urls")),
    path("", include("arsenal.tickets.urls")),
    path("", include("arsenal.sides.urls")),
    path("", include("arsenal.office.urls")),
]
