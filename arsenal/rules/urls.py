"""Addresses of the rules and of weighing in."""

from django.urls import path

from arsenal.rules import views

urlpatterns = [
    path("rules/", views.rules, name="rules"),
    path("rules/choose/", views.choose, name="rules-choose"),
    path("rules/<int:pk>/back/", views.take_back, name="house-limit-back"),
    path("customers/<int:pk>/weigh-in/", views.weigh_in, name="weigh-in"),
    path("customers/<int:pk>/weigh-in.pdf", views.weigh_in_pdf, name="weigh-in-pdf"),
    path("bag/<int:pk>/hardness/", views.hardness_add, name="hardness-add"),
    path("bag/<int:pk>/size/", views.size_add, name="size-add"),
]
