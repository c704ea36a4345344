"""Addresses of the page on which all customers are ranked again."""

from django.urls import path

from arsenal.rerank import views

urlpatterns = [
    path("rankings/all/", views.everybody, name="rerank"),
    path("rankings/all/standing/", views.standing, name="rerank-standing"),
]
