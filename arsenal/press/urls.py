"""Addresses of the press."""

from django.urls import path

from arsenal.press import views

urlpatterns = [
    path("overrides/", views.all_overrides, name="overrides"),
    path("customers/<int:pk>/plans/new/", views.plan_add, name="drill-plan-add"),
    path("customers/<int:pk>/plans/", views.plans, name="drill-plans"),
    path("bag/<int:pk>/plan/", views.redrill_add, name="redrill-add"),
    path("rankings/<int:pk>/plan/", views.plan_from_choice, name="drill-plan-from-choice"),
    path("plans/<int:pk>/", views.plan, name="drill-plan"),
    path("plans/<int:pk>/edit/", views.plan_edit, name="drill-plan-edit"),
    path("plans/<int:pk>/gate/", views.plan_gate, name="drill-plan-gate"),
    path("plans/<int:pk>/sign/", views.plan_sign, name="drill-plan-sign"),
    path("plans/<int:pk>/aside/", views.plan_aside, name="drill-plan-aside"),
    path("plans/<int:pk>/drilled/", views.plan_drilled, name="drill-plan-drilled"),
    path("plans/<int:pk>/weighed/", views.plan_weighed, name="drill-plan-weighed"),
    path("plans/<int:pk>/sheet/", views.sheet, name="drill-sheet"),
    path("plans/<int:pk>/sheet.pdf", views.sheet_pdf, name="drill-sheet-pdf"),
]
