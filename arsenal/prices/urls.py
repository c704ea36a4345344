"""Address of the price list."""

from django.urls import path

from arsenal.prices import views

urlpatterns = [path("prices/", views.prices, name="prices")]
