"""Addresses of side by side."""

from django.urls import path

from arsenal.sides import views

urlpatterns = [
    path("customers/<int:pk>/side-by-side/", views.sides, name="sides"),
    path("customers/<int:pk>/side-by-side/night/", views.night, name="sides-night"),
    path("customers/<int:pk>/side-by-side/show/", views.show, name="sides-show"),
]
