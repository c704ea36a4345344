"""Addresses of tickets."""

from django.urls import path

from arsenal.tickets import views

urlpatterns = [
    path("tickets/", views.board, name="tickets"),
    path("customers/<int:pk>/tickets/new/", views.ticket_add, name="ticket-add"),
    path("customers/<int:pk>/asked/<str:about>/", views.asked, name="reminder-asked"),
    path("tickets/<int:pk>/", views.ticket, name="ticket"),
    path("tickets/<int:pk>/edit/", views.ticket_edit, name="ticket-edit"),
    path("tickets/<int:pk>/move/", views.ticket_move, name="ticket-move"),
    path("tickets/<int:pk>/label/", views.label, name="ticket-label"),
    path("tickets/<int:pk>/label.pdf", views.label_pdf, name="ticket-label-pdf"),
]
