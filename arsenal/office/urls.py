"""Addresses of the owner's page."""

from django.urls import path

from arsenal.office import files, views

urlpatterns = [
    path("office/", views.office, name="office"),
    path("office/standing/", views.standing, name="office-standing"),
    path("office/gaps.csv", files.gaps, name="office-file"),
    path("office/stock-plan.csv", files.stock, name="stock-file"),
    path("office/slow.csv", files.slow, name="slow-file"),
    path("office/advice.csv", files.advice, name="advice-file"),
    path("office/refits.csv", files.refits, name="refits-file"),
]
