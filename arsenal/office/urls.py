"""Addresses of the owner's page."""

from django.urls import path

from arsenal.office import views

urlpatterns = [
    path("office/", views.office, name="office"),
    path("office/gaps.csv", views.office_file, name="office-file"),
    path("office/stock-plan.csv", views.stock_file, name="stock-file"),
]
