"""Addresses of the ball on the page."""

from django.urls import path

from arsenal.plate import views

urlpatterns = [
    path("bag/<int:pk>/plate/", views.plate, name="owned-ball-plate"),
]
