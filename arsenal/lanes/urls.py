"""Addresses of houses, conditions and the conditions a customer meets."""

from django.urls import path

from arsenal.lanes import views

urlpatterns = [
    path("houses/", views.houses, name="houses"),
    path("houses/new/", views.house_form, name="house-add"),
    path("houses/<int:pk>/", views.house, name="house"),
    path("houses/<int:pk>/edit/", views.house_form, name="house-edit"),
    path("houses/<int:house_pk>/conditions/new/", views.condition_add, name="condition-add"),
    path(
        "houses/<int:house_pk>/conditions/drawn/",
        views.condition_preview,
        name="condition-preview",
    ),
    path("conditions/<int:pk>/", views.condition, name="condition"),
    path("conditions/<int:pk>/edit/", views.condition_edit, name="condition-edit"),
    path("conditions/<int:pk>/states/", views.condition_states, name="condition-states"),
    path("conditions/<int:pk>/oil.csv", views.condition_file, name="condition-file"),
    path("customers/<int:pk>/conditions/", views.customer_conditions, name="customer-conditions"),
    path("customers/<int:pk>/conditions/league/", views.customer_league, name="customer-league"),
    path("customers/<int:pk>/conditions/shares/", views.customer_shares, name="customer-shares"),
    path(
        "customers/<int:pk>/conditions/<int:met_pk>/",
        views.customer_condition_edit,
        name="customer-condition-edit",
    ),
]
