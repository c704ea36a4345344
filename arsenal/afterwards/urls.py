"""Addresses of what was seen afterwards."""

from django.urls import path

from arsenal.afterwards import views

urlpatterns = [
    path("customers/<int:pk>/afterwards/", views.afterwards, name="afterwards"),
    path("customers/<int:pk>/afterwards/new/", views.observation_add, name="observation-add"),
    path("observations/<int:pk>/aside/", views.observation_aside, name="observation-aside"),
]
