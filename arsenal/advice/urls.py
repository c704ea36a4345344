"""Addresses of the advice room."""

from django.urls import path

from arsenal.advice import views

urlpatterns = [
    path("customers/<int:pk>/gaps/", views.gaps, name="gaps"),
    path("customers/<int:pk>/next-ball/", views.next_ball, name="next-ball"),
    path("rankings/<int:pk>/", views.ranking, name="ranking"),
    path("rankings/<int:pk>/progress/", views.ranking_progress, name="ranking-progress"),
    path("rankings/<int:pk>/strip/", views.ranking_strip, name="ranking-strip"),
]
